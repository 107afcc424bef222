"""Brings a catalogue's folder into the hall: checked, compared, then written as a whole or not at all."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final
from uuid import uuid4

from sqlalchemy.orm import Session

from drillhall.acts.join_concepts import part_unsaid
from drillhall.catalogues.checking import CheckReport, check
from drillhall.catalogues.comparing import Changes, compare
from drillhall.catalogues.editing.changing import Act, note
from drillhall.catalogues.editing.fields import Fields, differing, to_fields
from drillhall.catalogues.folder import Fault, Folder, FolderCatalogue, FolderPicture
from drillhall.catalogues.permission import rights_of
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import (
    Foreseen,
    Placed,
    StoredPicture,
    Written,
    find_catalogue_id,
    foresee,
    learnt_apart,
    list_stored_pictures,
    stored_catalogue,
    where_of,
    write_pictures,
    write_rows,
)
from drillhall.core.regions import WHOLE, Region
from drillhall.core.values import Use
from drillhall.errors import BadImport, BadPicture, NameTaken
from drillhall.people import audit
from drillhall.people.accounts import the_person_of
from drillhall.people.permissions import is_steward
from drillhall.pictures.catalogued import KeptPicture, add_kept, change_frame, change_rights, is_kept_size, keep_files, made_up_among
from drillhall.pictures.found import refuse_generated
from drillhall.pictures.framing import check_frame
from drillhall.pictures.ingest import Taken, forget_files, take
from drillhall.pictures.storage import Storage
from drillhall.practice.folding import refold_pictures
from drillhall.store.session import if_not_kept, once_kept
from drillhall.words import joined, say, say_n

Progress = Callable[[int, int, str], None]
"""Told how much is done, of how much, and of what."""

Kept = Mapping[str, KeptPicture]
"""Pictures whose files are in the storage already, by the SHA-256 of the bytes they came as."""

AT_ONCE: Final = 2
"""Pictures decoded at the same time; each needs the memory of one decoded picture."""


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would do: the faults that forbid it, what is wanted still, what would change, which files are new to the hall."""

    title: str
    subject: str
    report: CheckReport
    changes: Changes | None
    new_files: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: where the catalogue now stands, what changed, how many pictures were new.

    `judged_anew` answers of `of_learners` learners were, because their pictures show another form than was said before.
    """

    catalogue_id: int
    changes: Changes
    pictures_added: int
    judged_anew: int = 0
    of_learners: int = 0


def preview_import(db: Session, storage: Storage, path: Path, *, by: int) -> Preview:
    """Show what an import by an account would do, reading only; without changes where faults forbid it.

    Raises BadImport where there is no folder or zip that can be read at all, NameTaken where the key belongs to a catalogue of others.
    """
    with closing(read_folder(path)) as folder:
        return _preview(db, storage, folder, by)


@contextmanager
def pictures_kept(storage: Storage, path: Path, preview: Preview, *, progress: Progress | None = None) -> Iterator[Kept]:
    """Decode what is new to the hall and keep its files, before a database is made to wait; they go again if what is inside fails.

    Use it around the work: `with pictures_kept(storage, path, preview) as kept, store.work() as db: import_catalogue(..., kept=kept)`.
    Raises BadImport naming every picture that cannot be decoded.
    """
    kept: dict[str, KeptPicture] = {}
    try:
        with closing(read_folder(path)) as folder:
            new = [picture for picture in folder.catalogue.pictures if picture.file in preview.new_files]
            _keep(storage, folder, new, kept, progress or _tell_nobody)
        yield kept
    except BaseException:
        _forget(storage, kept.values())
        raise


def import_catalogue(
    db: Session,
    storage: Storage,
    path: Path,
    *,
    by: int,
    at: datetime,
    kept: Kept | None = None,
    progress: Progress | None = None,
) -> Imported:
    """Write a folder or a zip of it into the hall; the account `by` becomes steward of it and owner of its pictures.

    Raises BadImport with every fault, or with every picture that cannot be decoded, or NameTaken where the key belongs to a
    catalogue of others. Nothing is kept unless all is: the files of pictures go again when the work is rolled back.
    """
    with closing(read_folder(path)) as folder:
        preview = _preview(db, storage, folder, by)
        if preview.changes is None:
            raise _refused(preview.report.lines)
        catalogue_id = find_catalogue_id(db, folder.catalogue.key)
        if preview.changes.is_nothing and catalogue_id is not None:
            once_kept(db, lambda: _forget(storage, (kept or {}).values()))
            return Imported(catalogue_id, preview.changes, 0)
        said_before = to_fields(stored_catalogue(db, catalogue_id)) if catalogue_id is not None else {}
        written = write_rows(db, folder.catalogue.without_pictures(), at=at)
        add_steward(db, written.catalogue_id, by)
        _note(db, written.catalogue_id, said_before, folder, by=by, at=at)
        placing = _Placing(db, storage, folder, written, by, at)
        placed, added = placing.place(kept or {}, progress or _tell_nobody)
        part_unsaid(db, by=by, at=at)
        relabelled = write_pictures(db, written, placed, by_id=by, at=at)
        judged_anew, of_learners = refold_pictures(db, relabelled) if relabelled else (0, 0)
        audit.note(db, "catalogue imported", at=at, by=by, subject=folder.catalogue.key)
        return Imported(written.catalogue_id, preview.changes, added, judged_anew, of_learners)


def _note(db: Session, catalogue_id: int, said_before: Fields, folder: Folder, *, by: int, at: datetime) -> None:
    """Add the import to the catalogue's history; of a new catalogue that it came, without what it says."""
    before, after = differing(said_before, to_fields(folder.catalogue)) if said_before else ({}, {})
    note(db, catalogue_id, Act("brought in"), by=by, at=at, before=before, after=after)


def _preview(db: Session, storage: Storage, folder: Folder, by: int) -> Preview:
    report, said = check(folder), folder.catalogue
    if report.faults:
        return Preview(said.title, said.subject, report, None)
    catalogue_id = find_catalogue_id(db, said.key)
    if catalogue_id is not None and not is_steward(db, the_person_of(db, by), catalogue_id):
        raise NameTaken(say("Another catalogue of this hall has the key {key}. Give yours another key in catalogue.toml.", key=said.key))
    known = () if catalogue_id is None else list_stored_pictures(db, catalogue_id)
    held = {one.file: _find_held(db, storage, folder, one, folder.digest(one), known) for one in said.pictures}
    foreseen = Foreseen(learnt_apart(db, said, by_id=by), frozenset())
    if catalogue_id is not None:
        foreseen = _foresee(db, said, catalogue_id, {one.picture_id: file for file, one in held.items() if one}, by)
    if foreseen.faults:
        return Preview(said.title, said.subject, replace(report, faults=foreseen.faults), None)
    changes = compare(db, folder, is_kept=lambda one, content: is_kept_size(db, storage, one.picture_id, content), settled=foreseen.settled)
    return Preview(said.title, said.subject, report, changes, frozenset(file for file, one in held.items() if one is None))


def _foresee(db: Session, said: FolderCatalogue, catalogue_id: int, files: Mapping[int, str], by: int) -> Foreseen:
    """Return what writing would refuse of pictures that the catalogue holds already: what others settled, and what was made up."""
    by_file = {one.file: one for one in said.pictures}
    rows = {picture_id: by_file[file] for picture_id, file in files.items()}
    foreseen = foresee(db, said, catalogue_id, rows, by_id=by)
    made_up = made_up_among(db, {picture_id: one.medium for picture_id, one in rows.items()})
    faults = tuple(Fault(where_of(rows[picture_id]), sentence, "") for picture_id, sentence in made_up.items())
    return replace(foreseen, faults=foreseen.faults + faults)


def _find_held(
    db: Session, storage: Storage, folder: Folder, picture: FolderPicture, digest: str, known: Sequence[StoredPicture]
) -> StoredPicture | None:
    """Return the catalogue's picture that a row means: the same bytes, or under the same name one of the sizes made of it."""
    same = [one for one in known if one.content_sha256 == digest]
    named = [one for one in known if one.file == picture.file and not same]
    content = folder.picture_bytes(picture) if named else b""
    return next((one for one in named if is_kept_size(db, storage, one.picture_id, content)), same[0] if same else None)


@dataclass(frozen=True, slots=True)
class _Placing:
    """Finds or adds the picture of every row."""

    db: Session
    storage: Storage
    folder: Folder
    written: Written
    by: int
    at: datetime

    def place(self, kept: Kept, tell: Progress) -> tuple[list[Placed], int]:
        """Return the picture of every row, and how many of them were added."""
        known = list_stored_pictures(self.db, self.written.catalogue_id)
        digests = {picture.file: self.folder.digest(picture) for picture in self.folder.catalogue.pictures}
        held = {
            one.file: _find_held(self.db, self.storage, self.folder, one, digests[one.file], known)
            for one in self.folder.catalogue.pictures
        }
        fresh = self._fresh(kept, [one for one in self.folder.catalogue.pictures if held[one.file] is None], digests, tell)
        placed = []
        for picture in self.folder.catalogue.pictures:
            one = held[picture.file]
            placed.append(Placed(picture, self._add(picture, fresh[digests[picture.file]]) if one is None else one.picture_id))
            if one is not None and one.is_stewards:  # what a learner has granted is hers to change
                change_rights(self.db, self.storage, one.picture_id, rights_of(picture))
                self._frame(picture, one.picture_id)
        unused = [one for digest, one in kept.items() if digest not in fresh]
        once_kept(self.db, lambda: _forget(self.storage, unused))
        return placed, len(fresh)

    def _fresh(self, kept: Kept, new: Sequence[FolderPicture], digests: Mapping[str, str], tell: Progress) -> dict[str, KeptPicture]:
        """Return the new pictures by digest, their files kept: those kept before, and now the rest."""
        ours: dict[str, KeptPicture] = {}
        if_not_kept(self.db, lambda: _forget(self.storage, ours.values()))
        _keep(self.storage, self.folder, [picture for picture in new if digests[picture.file] not in kept], ours, tell)
        return {digests[picture.file]: ours.get(digests[picture.file]) or kept[digests[picture.file]] for picture in new}

    def _frame(self, picture: FolderPicture, picture_id: int) -> None:
        try:
            change_frame(self.db, self.storage, picture_id, picture.frame)
        except BadPicture as error:
            raise _refused([joined(": ", (where_of(picture), error.sentence))]) from error

    def _add(self, picture: FolderPicture, kept: KeptPicture) -> int:
        form_id = self.written.form_ids[picture.form]
        return add_kept(self.db, kept, owner_id=self.by, form_id=form_id, use=Use(picture.use), at=self.at)


def _keep(storage: Storage, folder: Folder, pictures: Sequence[FolderPicture], kept: dict[str, KeptPicture], tell: Progress) -> None:
    """Decode pictures and keep their files, adding each to `kept`; raise BadImport naming every one that cannot be decoded."""
    faults = []
    for done, (picture, taken) in enumerate(zip(pictures, _taken(folder, pictures), strict=True)):
        tell(done, len(pictures), picture.file)
        if isinstance(taken, BadPicture):
            faults.append(joined(": ", (where_of(picture), taken.sentence)))
        elif not faults:
            kept[taken.content_sha256] = keep_files(storage, taken, rights_of(picture), public_id=str(uuid4()), frame=_own_frame(picture))
    tell(len(pictures), len(pictures), "")
    if faults:
        raise _refused(faults)


def _taken(folder: Folder, pictures: Iterable[FolderPicture]) -> Iterator[Taken | BadPicture]:
    """Yield each picture decoded, in order, a few of them ahead; what cannot be decoded comes as its error."""
    with ThreadPoolExecutor(AT_ONCE) as pool:
        ahead: deque[Future[Taken | BadPicture]] = deque()
        for picture in pictures:
            ahead.append(pool.submit(_take, folder.picture_bytes(picture), picture))
            if len(ahead) > AT_ONCE:
                yield ahead.popleft().result()
        while ahead:
            yield ahead.popleft().result()


def _take(content: bytes, picture: FolderPicture) -> Taken | BadPicture:
    try:
        taken = take(content)
        refuse_generated(taken.found, medium=picture.medium)
        if (frame := _own_frame(picture)) is not None:
            check_frame(taken.width_px, taken.height_px, frame)
    except BadPicture as error:
        return error
    return taken


def _own_frame(picture: FolderPicture) -> Region | None:
    """Return the frame of a picture that is new to the hall; the whole of it is none."""
    return None if picture.frame == WHOLE else picture.frame


def _forget(storage: Storage, kept: Iterable[KeptPicture]) -> None:
    for one in kept:
        forget_files(storage, one.public_id)


def _refused(faults: Sequence[str]) -> BadImport:
    sentence = say_n("Nothing was imported: the folder has one fault.", "Nothing was imported: the folder has {n} faults.", len(faults))
    return BadImport(sentence, faults=tuple(faults))


def _tell_nobody(done: int, total: int, what: str) -> None:
    """Take a report of progress to nobody."""
