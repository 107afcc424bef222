"""Adds somebody's own pictures from a folder, a zip or a table: everything judged first, then kept one by one."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.acts.describe_pictures import describe_pictures
from drillhall.acts.picture_rows import ReadRow, read_row
from drillhall.catalogues.folder import Fault
from drillhall.catalogues.reading.pictures import PictureFolder
from drillhall.errors import BadImport, BadPicture, Invalid
from drillhall.pictures.describing import Description
from drillhall.pictures.found import refuse_generated
from drillhall.pictures.ingest import Taken
from drillhall.pictures.naming import NamedForm, list_named_forms
from drillhall.pictures.reading import read_picture
from drillhall.pictures.sent import Sent
from drillhall.pictures.storage import Storage
from drillhall.pictures.told import Told, faults_of, keep_told, known_forms, sentence_of
from drillhall.store.queries.own_pictures import known_bytes

Progress = Callable[[int, int, str], None]
"""Told how much is done, of how much, and of what."""

MOST_NAMED: Final = 20
UNDESCRIBED: Final = "not described yet"
_LINE: Final = re.compile(r", line (\d+)")


@dataclass(frozen=True, slots=True)
class Seen:
    """A file that has been looked at: the hash of its bytes, what it says of itself, and why it cannot be taken, if so."""

    sha256: str
    found: Mapping[str, str] = field(default_factory=dict)
    refused: str = ""


@dataclass(frozen=True, slots=True)
class ToAdd:
    """One picture that is sound: its file, where a fault of it would stand, and what is told of it."""

    file: str
    where: str
    sha256: str
    shows: str
    told: Told


@dataclass(frozen=True, slots=True)
class Adding:
    """What adding a folder would do; `subjects` are those of the catalogues whose forms may be named."""

    to_add: tuple[ToAdd, ...]
    there_already: tuple[str, ...]
    without_row: tuple[str, ...]
    twins: tuple[tuple[str, str], ...]
    faults: tuple[Fault, ...]
    subjects: tuple[str, ...] = ("bird",)

    @property
    def lines(self) -> tuple[str, ...]:
        """The same in words, before anything is done."""
        shown = Counter(one.shows for one in self.to_add)
        told = [
            f"Pictures to add: {len(self.to_add)}",
            *(f"  {count} {'' if name == UNDESCRIBED else 'of '}{name}" for name, count in shown.items()),
        ]
        if self.there_already:
            told.append(f"There already, the very same bytes: {len(self.there_already)}")
        told += [f"Left aside, since no row names it: {name}" for name in self.without_row[:MOST_NAMED]]
        if len(self.without_row) > MOST_NAMED:
            told.append(f"  and {len(self.without_row) - MOST_NAMED} more")
        told += [f"Left aside, since it is the same picture as {first}: {name}" for name, first in self.twins]
        return tuple(told)


def look_at_pictures(folder: PictureFolder, *, progress: Progress) -> dict[str, Seen]:
    """Decode every picture of a folder once, one at a time, and return what was seen by file; nothing is kept."""
    wrong = {fault.where for fault in folder.faults}
    named = {folder.file_of(row) for row in folder.rows} - {""} if folder.table else set(folder.files)
    files = sorted(named - wrong)
    seen = {}
    for done, file in enumerate(files):
        progress(done, len(files), file)
        seen[file] = _look(folder, file)
    progress(len(files), len(files), "")
    return seen


def plan_adding(db: Session, folder: PictureFolder, seen: Mapping[str, Seen], *, owner_id: int, on: date) -> Adding:
    """Judge every row and file for one account, reading only; the faults are those of all rows at once."""
    faults, forms = list(folder.faults), list_named_forms(db, owner_id)
    told = _rows(db, folder, forms, on, faults) if folder.table else _bare(folder, seen)
    sound, twins = _sound(told, seen, faults, is_table=bool(folder.table))
    known = known_bytes(db, owner_id, [one.sha256 for one in sound])
    without = set(folder.files) - {folder.file_of(row) for row in folder.rows} if folder.table else set()
    return Adding(
        to_add=tuple(one for one in sound if one.sha256 not in known),
        there_already=tuple(one.file for one in sound if one.sha256 in known),
        without_row=tuple(sorted(without)),
        twins=tuple(twins),
        faults=tuple(sorted(faults, key=_line_of)),
        subjects=tuple(dict.fromkeys(form.subject for form in forms)) or ("bird",),
    )


def _line_of(fault: Fault) -> int:
    """Return the line of the table that a fault is about, to tell them in the order of the rows; 0 for the table as a whole."""
    line = _LINE.search(fault.where)
    return int(line[1]) if line else 0


def add_planned(db: Session, storage: Storage, taken: Taken, one: ToAdd, *, public_id: str, owner_id: int, at: datetime, on: date) -> Sent:
    """Keep one picture of a plan, decoded before; raises Invalid where something has changed since it was judged."""
    sent = keep_told(db, storage, taken, one.told, public_id=public_id, owner_id=owner_id, at=at)
    rest = replace(one.told.said, rights=None)
    if not sent.already and not rest.is_empty:
        describe_pictures(db, storage, account_id=owner_id, public_ids=[public_id], said=rest, at=at, on=on)
    return sent


def _look(folder: PictureFolder, file: str) -> Seen:
    try:
        content = folder.source.read(file)
    except BadImport as error:
        return Seen("", refused=error.sentence)
    digest = hashlib.sha256(content).hexdigest()
    try:
        return Seen(digest, read_picture(content).found)
    except BadPicture as error:
        return Seen(digest, refused=error.sentence)


def _bare(folder: PictureFolder, seen: Mapping[str, Seen]) -> list[ToAdd]:
    """Return the files of a folder without a table, of which nothing is said yet."""
    return [ToAdd(file, file, one.sha256, UNDESCRIBED, Told(Description())) for file, one in sorted(seen.items()) if file in folder.files]


def _rows(db: Session, folder: PictureFolder, forms: Sequence[NamedForm], on: date, faults: list[Fault]) -> list[ToAdd]:
    """Return what the rows tell; a row with a fault of its own is noted and left out."""
    read = [read_row(row, folder.where(row), forms) for row in folder.rows]
    rows_of_forms = known_forms(db, sorted({id_ for one in read for id_ in one.form_ids}))
    broken = {fault.where for fault in faults}
    named: dict[str, int] = {}
    told = []
    for row, one in zip(folder.rows, read, strict=True):
        file, where = folder.file_of(row), folder.where(row)
        wrong = [*one.faults, *(Fault(where, sentence_of(error), "") for error in faults_of(one.told, rows_of_forms, on=on))]
        wrong += _file_faults(folder, one, file, named)
        named.setdefault(file, row.row)
        faults += wrong
        if not wrong and where not in broken and file not in broken:
            told.append(ToAdd(file, where, "", one.shows or UNDESCRIBED, one.told))
    return told


def _file_faults(folder: PictureFolder, one: ReadRow, file: str, named: Mapping[str, int]) -> Iterator[Fault]:
    row = one.row
    if not row.file:
        yield Fault(one.where, "file: It names no file.", "Write the name of the picture's file.")
    elif not file:
        yield Fault(one.where, f"file: There is no file {row.file}.", f"Put it beside {folder.table}, or take the row out.")
    elif file in named:
        yield Fault(one.where, f"file: {row.file} is named in line {named[file]} already.", "Name each file once.")


def _sound(
    told: Iterable[ToAdd], seen: Mapping[str, Seen], faults: list[Fault], *, is_table: bool
) -> tuple[list[ToAdd], list[tuple[str, str]]]:
    """Return what can be added and, of files alike without a table, which is the same as which; the rest are faults."""
    sound, twins, first = [], [], dict[str, ToAdd]()
    for one in told:
        look = seen[one.file]
        refused = look.refused or _generated(look, one)
        twin = first.setdefault(look.sha256, one) if not refused else one
        if refused:
            faults.append(Fault(one.where, refused, ""))
        elif twin is one:
            sound.append(ToAdd(one.file, one.where, look.sha256, one.shows, one.told))
        elif is_table:
            faults.append(Fault(one.where, f"file: It is the same picture as {twin.file}.", "Keep one of the two rows."))
        else:
            twins.append((one.file, twin.file))
    return sound, twins


def _generated(look: Seen, one: ToAdd) -> str:
    try:
        refuse_generated(look.found, medium=one.told.said.medium or "Photograph")
    except Invalid as error:
        return error.sentence
    return ""
