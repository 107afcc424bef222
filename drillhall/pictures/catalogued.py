"""What a catalogue's import and export need of pictures: files kept ahead of rows, new rights, the best bytes that may leave."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, Rights, check_rights, columns, may
from drillhall.core.values import Use
from drillhall.pictures.ingest import ORIGINAL, Taken, add_rows, put_files, rights_row, take
from drillhall.pictures.renditions import with_rights
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries.pictures import rights_of
from drillhall.store.session import if_not_kept, once_kept


@dataclass(frozen=True, slots=True)
class KeptPicture:
    """A picture whose files are in the storage and whose rows are still to come."""

    public_id: str
    taken: Taken
    rights: Rights
    files: tuple[FileRow, ...]


def keep_files(storage: Storage, taken: Taken, rights: Rights, *, public_id: str) -> KeptPicture:
    """Put a picture's files into the storage ahead of its rows, so that no database waits while they are written."""
    check_rights(rights)
    files = put_files(storage, taken, rights, public_id)
    return KeptPicture(public_id, replace(taken, sizes=(), original=None), rights, tuple(files))


def add_kept(db: Session, kept: KeptPicture, *, owner_id: int, form_id: int, use: Use, at: datetime) -> int:
    """Keep the rows of a picture whose files are kept, and return its id."""
    row = PictureRow(
        public_id=kept.public_id,
        owner_id=owner_id,
        form_id=form_id,
        use=use.value,
        width_px=kept.taken.width_px,
        height_px=kept.taken.height_px,
        content_sha256=kept.taken.content_sha256,
        fingerprint=kept.taken.fingerprint,
        made_at=at,
    )
    return add_rows(db, row, rights_row(kept.rights), kept.files)


def change_rights(db: Session, storage: Storage, picture_id: int, rights: Rights) -> bool:
    """Give a picture other rights, and its sizes a packet that tells them; return whether anything changed.

    What the owner has agreed to, and until when, stays as long as the licence does. The old files go once the work is kept.
    """
    row = db.get_one(RightsRow, picture_id)
    known = rights_of(row)
    said = replace(rights, agreed=known.agreed, until=known.until) if rights.licence == known.licence else rights
    if said == known:
        return False
    check_rights(said)
    _write_rights(row, said)
    _write_files(db, storage, picture_id, said)
    db.flush()
    return True


def is_kept_size(db: Session, storage: Storage, picture_id: int, content: bytes) -> bool:
    """Whether these bytes are one of the files that the hall keeps of a picture, so that it is no new picture."""
    query = select(FileRow.storage_key).where(FileRow.picture_id == picture_id, FileRow.bytes == len(content))
    return any(storage.get(key) == content for key in db.scalars(query))


def bytes_to_hand_out(db: Session, storage: Storage, picture_id: int, *, to_id: int, on: date) -> bytes | None:
    """Return the best bytes of a picture that somebody may take out of the hall, or None where she may take none.

    The owner gets the file as it came, which may tell where it was taken; others the largest size, where its rights allow an export.
    """
    picture, rights = db.get_one(PictureRow, picture_id), db.get_one(RightsRow, picture_id)
    files = {row.size_name: row for row in db.scalars(select(FileRow).where(FileRow.picture_id == picture_id))}
    if picture.owner_id == to_id:
        return storage.get((files.get(ORIGINAL) or files["large"]).storage_key)
    verdict = may(rights_of(rights), owner_id=picture.owner_id, viewer_id=to_id, purpose=Purpose.EXPORT, on=on)
    return storage.get(files["large"].storage_key) if verdict.allowed else None


def _write_rights(row: RightsRow, rights: Rights) -> None:
    row.creator, row.credit, row.rights_owner = rights.creator, rights.credit, rights.rights_owner
    row.source, row.title, row.statement = rights.source, rights.title, rights.statement
    row.licence = rights.licence.id if rights.licence else ""
    row.licence_url = rights.licence.url if rights.licence else ""
    row.agreed = " ".join(sorted(purpose.name.lower() for purpose in rights.agreed))
    kept = columns(rights)
    row.may_group, row.may_public, row.may_alter = kept.may_group, kept.may_public, kept.may_alter
    row.may_paid, row.may_until = kept.may_paid, kept.may_until


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
