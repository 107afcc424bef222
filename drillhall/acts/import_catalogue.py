"""Brings a catalogue's folder into the hall: checked, compared, then written as a whole or not at all."""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Final
from uuid import uuid4

from sqlalchemy.orm import Session

from drillhall.catalogues.checking import CheckReport, check
from drillhall.catalogues.comparing import Changes, compare
from drillhall.catalogues.folder import PICTURES_FILE, Folder, FolderPicture
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import (
    Placed,
    StoredPicture,
    Written,
    find_catalogue_id,
    list_stored_pictures,
    write_pictures,
    write_rows,
)
from drillhall.core.rights import Rights, read_licence
from drillhall.core.values import Use
from drillhall.errors import BadImport, BadPicture, NameTaken
from drillhall.people import audit
from drillhall.people.accounts import the_person_of
from drillhall.people.permissions import is_steward
from drillhall.pictures.catalogued import change_rights, is_kept_size
from drillhall.pictures.ingest import Taken, add_picture, forget_files, take
from drillhall.pictures.storage import Storage
from drillhall.store.session import if_not_kept

Progress = Callable[[int, int, str], None]
"""Told how much is done, of how much, and of what."""

AT_ONCE: Final = 2
"""Pictures decoded at the same time; each needs the memory of one decoded picture."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: where the catalogue now stands, what changed, and how many pictures were new."""

    catalogue_id: int
    changes: Changes
    pictures_added: int


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would do: the faults that forbid it, what is wanted still, and what would change."""

    report: CheckReport
    changes: Changes | None


def preview_import(db: Session, path: Path, *, by: int) -> Preview:
    """Show what an import by an account would do, reading only; without changes where faults forbid it.

    Raises BadImport where there is no folder or zip that can be read at all, NameTaken where the key belongs to a catalogue of others.
    """
    with closing(read_folder(path)) as folder:
        return _preview(db, folder, by)


def import_catalogue(db: Session, storage: Storage, path: Path, *, by: int, at: datetime, progress: Progress | None = None) -> Imported:
    """Write a folder or a zip of it into the hall; the account `by` becomes steward of it and owner of its pictures.

    Raises BadImport with every fault, undecodable pictures included, or NameTaken where the key belongs to a catalogue of others.
    Nothing is kept unless all is: the files of pictures go again when the work is rolled back.
    """
    with closing(read_folder(path)) as folder:
        preview = _preview(db, folder, by)
        if preview.changes is None:
            raise BadImport(f"Nothing was imported: {_count(preview.report.lines)}.", faults=preview.report.lines)
        catalogue_id = find_catalogue_id(db, folder.catalogue.key)
        if preview.changes.is_nothing and catalogue_id is not None:
            return Imported(catalogue_id, preview.changes, 0)
        written = write_rows(db, folder.catalogue.without_pictures(), at=at)
        add_steward(db, written.catalogue_id, by)
        placed, added = _place(db, storage, folder, written, by=by, at=at, tell=progress or _tell_nobody)
        write_pictures(db, written, placed, by_id=by, at=at)
        audit.note(db, "catalogue imported", at=at, by=by, subject=folder.catalogue.key)
        return Imported(written.catalogue_id, preview.changes, added)


def _preview(db: Session, folder: Folder, by: int) -> Preview:
    report = check(folder)
    if report.faults:
        return Preview(report, None)
    catalogue_id = find_catalogue_id(db, folder.catalogue.key)
    if catalogue_id is not None and not is_steward(db, the_person_of(db, by), catalogue_id):
        raise NameTaken(f"Another catalogue of this hall has the key {folder.catalogue.key}. Give yours another key in catalogue.toml.")
    return Preview(report, compare(db, folder))


def _place(
    db: Session, storage: Storage, folder: Folder, written: Written, *, by: int, at: datetime, tell: Progress
) -> tuple[list[Placed], int]:
    """Find or add the picture of every row, and return them with how many were added."""
    pictures = folder.catalogue.pictures
    known = list_stored_pictures(db, written.catalogue_id)
    held = [_find_held(db, storage, folder, picture, known) for picture in pictures]
    taken = _taken(folder, [picture for picture, one in zip(pictures, held, strict=True) if one is None])
    placed: list[Placed] = []
    faults: list[str] = []
    for done, (picture, one) in enumerate(zip(pictures, held, strict=True)):
        tell(done, len(pictures), picture.file)
        fresh = None if one else next(taken)
        if isinstance(fresh, BadPicture):
            faults.append(f"{PICTURES_FILE}, line {picture.row} ({picture.file}): {fresh.sentence}")
        elif fresh and not faults:
            placed.append(Placed(picture, _add(db, storage, fresh, picture, written, by=by, at=at)))
        elif one:
            placed.append(Placed(picture, one.picture_id))
            if one.is_stewards:  # what a learner has granted is hers to change
                change_rights(db, storage, one.picture_id, rights_of(picture))
    tell(len(pictures), len(pictures), "")
    if faults:
        raise BadImport(f"Nothing was imported: {_count(faults)}.", faults=tuple(faults))
    return placed, held.count(None)


def _find_held(
    db: Session, storage: Storage, folder: Folder, picture: FolderPicture, known: Sequence[StoredPicture]
) -> StoredPicture | None:
    """Return the catalogue's picture that a row means: the same bytes, or under the same name one of the sizes made of it."""
    content = folder.picture_bytes(picture)
    digest = hashlib.sha256(content).hexdigest()
    same = [one for one in known if one.content_sha256 == digest]
    named = (one for one in known if one.file == picture.file)
    return same[0] if same else next((one for one in named if is_kept_size(db, storage, one.picture_id, content)), None)


def _taken(folder: Folder, pictures: Sequence[FolderPicture]) -> Iterator[Taken | BadPicture]:
    """Yield each picture decoded, in order, a few of them ahead; what cannot be decoded comes as its error."""
    with ThreadPoolExecutor(AT_ONCE) as pool:
        ahead: deque[Future[Taken | BadPicture]] = deque()
        for picture in pictures:
            ahead.append(pool.submit(_take, folder.picture_bytes(picture)))
            if len(ahead) > AT_ONCE:
                yield ahead.popleft().result()
        while ahead:
            yield ahead.popleft().result()


def _take(content: bytes) -> Taken | BadPicture:
    try:
        return take(content)
    except BadPicture as error:
        return error


def _add(db: Session, storage: Storage, taken: Taken, picture: FolderPicture, written: Written, *, by: int, at: datetime) -> int:
    public_id = str(uuid4())
    if_not_kept(db, partial(forget_files, storage, public_id))
    return add_picture(
        db,
        storage,
        taken,
        public_id=public_id,
        owner_id=by,
        form_id=written.form_ids[picture.form],
        rights=rights_of(picture),
        at=at,
        use=Use(picture.use),
    )


def rights_of(picture: FolderPicture) -> Rights:
    """Return the rights that a row of pictures.csv says."""
    return Rights(
        creator=picture.creator,
        licence=read_licence(picture.licence) if picture.licence else None,
        credit=picture.credit,
        rights_owner=picture.rights_owner,
        source=picture.source,
        title=picture.title,
        statement=picture.statement,
    )


def _count(faults: Sequence[str]) -> str:
    return "the folder has one fault" if len(faults) == 1 else f"the folder has {len(faults)} faults"


def _tell_nobody(done: int, total: int, what: str) -> None:
    """Take a report of progress to nobody."""
