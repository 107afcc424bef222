"""Finds what storage and database do not agree on, remembers since when, and lets go what was found long enough ago."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.pictures.ingest import ORIGINAL
from drillhall.pictures.storage import Leftovers, Storage
from drillhall.store.models.people import SettingRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import once_kept

LEAST_AGE: Final = timedelta(hours=1)
"""Files of an upload that runs just now have rows that are still to come, so only what a sweep so long ago found is let go."""
BROKEN_OFF: Final = timedelta(days=1)
"""A file without a row that was found so long ago belongs to an upload that was broken off."""
ONE_IN: Final = 10
"""Where there are more such files than one to so many that have a row, no uploads broke off: it is the wrong database, or a storage that
another hall uses too, and whether they may go is for the keeper to say."""
REMEMBERED: Final = "leftovers_of_pictures"


@dataclass(frozen=True, slots=True)
class Leftover:
    """One leftover: its key, when a sweep found it first, and whether that is long enough ago."""

    key: str
    found_at: datetime
    is_due: bool


@dataclass(frozen=True, slots=True)
class Swept:
    """What a sweep found: files without a row, rows without a file, and how many of each it let go.

    `originals_gone` are the keys of files as they came whose rows went while their pictures go on with the sizes made of them.
    """

    files: tuple[Leftover, ...]
    rows: tuple[Leftover, ...]
    files_gone: int = 0
    rows_gone: int = 0
    originals_gone: tuple[str, ...] = ()


def sweep(db: Session, storage: Storage, left: Leftovers, *, at: datetime, delete: bool = False) -> Swept:
    """Remember what `orphans` has just found; with `delete`, let go what a sweep at least LEAST_AGE ago found as well.

    A row whose file is gone goes where no other file of its picture is left to make it from, and its picture is then withdrawn;
    the row of a file as it came goes in any case, since nothing makes that anew.
    """
    before = _remembered(db)
    files, rows = _since(left.files, before, at), _since(left.rows, before, at)
    gone = _delete_files(db, storage, files) if delete else []
    originals = _delete_originals(db, rows, missing=left.rows) if delete else []
    lost = _delete_rows(db, rows, at, missing=left.rows) if delete else []
    _remember(db, (*files, *rows), {*gone, *originals, *lost})
    return Swept(files, rows, len(gone), len(originals) + len(lost), tuple(originals))


def sweep_broken_off(db: Session, storage: Storage, left: Leftovers, *, at: datetime) -> int:
    """Remember what `orphans` has just found, let go the few files that it found BROKEN_OFF ago as well, and return how many went.

    Rows whose files are gone stay: these may be back tomorrow, where a disk was not mounted.
    """
    before = _remembered(db)
    files, rows = _since(left.files, before, at, least=BROKEN_OFF), _since(left.rows, before, at)
    known = db.scalar(select(func.count()).select_from(FileRow)) or 0
    gone = _delete_files(db, storage, files) if len(files) * ONE_IN <= known else []
    _remember(db, (*files, *rows), gone)
    return len(gone)


def _remember(db: Session, found: Iterable[Leftover], let_go: Collection[str]) -> None:
    value = {one.key: one.found_at.isoformat() for one in found if one.key not in let_go}
    db.merge(SettingRow(key=REMEMBERED, value=value))
    db.flush()


def _remembered(db: Session) -> dict[str, datetime]:
    known = db.scalar(select(SettingRow.value).where(SettingRow.key == REMEMBERED))
    return {key: datetime.fromisoformat(said) for key, said in known.items()} if isinstance(known, dict) else {}


def _since(keys: Iterable[str], before: dict[str, datetime], at: datetime, *, least: timedelta = LEAST_AGE) -> tuple[Leftover, ...]:
    found = ((key, min(before.get(key, at), at)) for key in keys)
    return tuple(Leftover(key, found_at, at - found_at >= least) for key, found_at in found)


def _delete_files(db: Session, storage: Storage, files: Iterable[Leftover]) -> list[str]:
    due = [one.key for one in files if one.is_due]
    known = set(db.scalars(select(FileRow.storage_key)))  # a row may have come since the orphans were found
    gone = [key for key in due if key not in known]
    for key in gone:
        once_kept(db, partial(storage.delete, key))
    return gone


def _delete_originals(db: Session, rows: Iterable[Leftover], *, missing: Collection[str]) -> list[str]:
    """Delete the rows of files as they came where other files of their pictures are left, and return their keys."""
    lost = []
    for key in (one.key for one in rows if one.is_due):
        row = db.scalar(select(FileRow).where(FileRow.storage_key == key, FileRow.size_name == ORIGINAL))
        if row is not None and _others_of(db, row, missing):
            db.delete(row)
            lost.append(key)
    db.flush()
    return lost


def _others_of(db: Session, row: FileRow, missing: Collection[str]) -> set[str]:
    """Return the keys of the files of a picture that are not missing."""
    return set(db.scalars(select(FileRow.storage_key).where(FileRow.picture_id == row.picture_id))) - set(missing)


def _delete_rows(db: Session, rows: Iterable[Leftover], at: datetime, *, missing: Collection[str]) -> list[str]:
    lost = []
    for key in (one.key for one in rows if one.is_due):
        row = db.scalar(select(FileRow).where(FileRow.storage_key == key))
        if row is None or _others_of(db, row, missing):
            continue
        picture = db.get_one(PictureRow, row.picture_id)
        picture.retired_at = picture.retired_at or at
        picture.content_sha256, picture.found = "", {}  # so that its owner may send it again
        db.delete(row)
        lost.append(key)
    return lost
