"""Keeps the files that are made of a picture beside the sizes of the whole: of its frame, and of it as from afar or as a shape."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import partial

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.pictures.ingest import note_bytes
from drillhall.pictures.renditions import ENDING, MEDIA_TYPE, MadeSize, with_rights
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries.pictures import rights_of
from drillhall.store.session import if_not_kept, once_kept


def keep_rendered(db: Session, storage: Storage, picture: PictureRow, sizes: Iterable[MadeSize], *, rendition: str) -> None:
    """Put files of a rendition into the storage and write their rows; whoever calls holds the picture's row."""
    rights = rights_of(db.get_one(RightsRow, picture.id))
    for size in (with_rights(plain, rights) for plain in sizes):
        row = FileRow(picture_id=picture.id, rendition=rendition, size_name=size.name, recipe=size.recipe)
        row.storage_key, row.media_type = f"{_folder(db, picture)}/{size.recipe}.{ENDING}", MEDIA_TYPE
        row.width_px, row.height_px = size.width_px, size.height_px
        note_bytes(row, size.content)
        storage.put(row.storage_key, size.content)
        if_not_kept(db, partial(storage.delete, row.storage_key))
        _kept_again(db).add(row.storage_key)
        db.add(row)
    db.flush()


def drop_rendered(db: Session, storage: Storage, picture_id: int, renditions: Collection[str]) -> None:
    """Take away the files of some renditions of a picture; the bytes go once the work is kept."""
    drop_files(db, storage, db.scalars(select(FileRow).where(FileRow.picture_id == picture_id, FileRow.rendition.in_(renditions))).all())


def drop_files(db: Session, storage: Storage, rows: Iterable[FileRow]) -> None:
    """Take away some files; their bytes go once the work is kept."""
    for row in rows:
        db.delete(row)
        once_kept(db, partial(_delete_gone, db, storage, row.storage_key))
    db.flush()


def _kept_again(db: Session) -> set[str]:
    """Return the keys under which this work has put bytes: the same recipe lies under the same key, so a drop must spare it."""
    kept: set[str] = db.info.setdefault("keys put by this work", set())
    return kept


def _delete_gone(db: Session, storage: Storage, key: str) -> None:
    if key not in _kept_again(db):
        storage.delete(key)


def hold(db: Session, picture: PictureRow) -> None:
    """Let nobody else change what belongs to a picture until this work is kept, and read its row and its rights anew.

    Whoever changes rights, files, shares or the withdrawing of a picture holds it first, and reads these only then: otherwise two
    at once leave files that tell other rights than the picture has, or a share of what is deleted.
    """
    held, anew = select(PictureRow).where(PictureRow.id == picture.id).with_for_update(), {"populate_existing": True}
    db.scalars(held, execution_options=anew).one()
    db.scalars(select(RightsRow).where(RightsRow.picture_id == picture.id), execution_options=anew).one()


def _folder(db: Session, picture: PictureRow) -> str:
    key = db.scalars(select(FileRow.storage_key).where(FileRow.picture_id == picture.id, FileRow.rendition == "as taken").limit(1)).one()
    return key.rpartition("/")[0]
