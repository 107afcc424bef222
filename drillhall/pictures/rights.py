"""Changes what may be done with a picture: its row, the columns that queries filter by, and the packets inside its files."""

from __future__ import annotations

from functools import partial

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.rights import Rights, check_rights
from drillhall.pictures.ingest import ORIGINAL, rights_row, take
from drillhall.pictures.renditions import with_rights
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, RightsRow
from drillhall.store.queries.pictures import rights_of
from drillhall.store.session import if_not_kept, once_kept


def write_rights(db: Session, storage: Storage, picture_id: int, rights: Rights) -> bool:
    """Give a picture other rights, and its sizes a packet that tells them; return whether anything changed.

    The old files go once the work is kept.
    """
    row = db.get_one(RightsRow, picture_id)
    if rights == rights_of(row):
        return False
    check_rights(rights)
    said = rights_row(rights)
    for column in RightsRow.__table__.columns:
        if not column.primary_key:
            setattr(row, column.name, getattr(said, column.name))
    _write_files(db, storage, picture_id, rights)
    db.flush()
    return True


def _write_files(db: Session, storage: Storage, picture_id: int, rights: Rights) -> None:
    files = {row.size_name: row for row in db.scalars(select(FileRow).where(FileRow.picture_id == picture_id))}
    source = files.get(ORIGINAL) or files["large"]
    folder = source.storage_key.rpartition("/")[0]
    for size in (with_rights(plain, rights) for plain in take(storage.get(source.storage_key), keep_original=False).sizes):
        row = files[size.name]
        new, old = f"{folder}/{size.recipe}.{row.storage_key.rpartition('.')[2]}", row.storage_key
        if new == old:
            continue
        storage.put(new, size.content)
        if_not_kept(db, partial(storage.delete, new))
        once_kept(db, partial(storage.delete, old))
        row.recipe, row.storage_key, row.bytes = size.recipe, new, len(size.content)
