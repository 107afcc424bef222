"""Lists every file of somebody's own pictures that is kept, withdrawn or not, under the names that an archive of them uses."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.store.models.pictures import FileRow, PictureRow


def list_own_files(db: Session, account_id: int) -> Iterator[tuple[str, str]]:
    """Yield name and storage key of every file of the whole of somebody's pictures; what was cut or altered is made from these."""
    query = (
        select(PictureRow.public_id, FileRow.size_name, FileRow.storage_key)
        .join(PictureRow, PictureRow.id == FileRow.picture_id)
        .where(PictureRow.owner_id == account_id, FileRow.rendition == "as taken")
        .order_by(PictureRow.id, FileRow.width_px)
    )
    for public_id, size, key in db.execute(query.execution_options(yield_per=500)):
        yield f"pictures/{public_id}-{size}.{key.rpartition('.')[2]}", key


def count_bytes(db: Session, account_id: int) -> int:
    """Return what these files weigh together."""
    query = select(func.sum(FileRow.bytes)).join(PictureRow, PictureRow.id == FileRow.picture_id)
    return int(db.scalar(query.where(PictureRow.owner_id == account_id, FileRow.rendition == "as taken")) or 0)
