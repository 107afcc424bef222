"""Changes what may be done with a picture: its row, the columns that queries filter by, and the packets inside its files."""

from __future__ import annotations

import hashlib
from functools import partial

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.rights import Rights, check_rights
from drillhall.pictures.ingest import ORIGINAL, rights_row
from drillhall.pictures.renditions import rights_packet
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
    packet = rights_packet(rights)
    for row in db.scalars(select(FileRow).where(FileRow.picture_id == picture_id, FileRow.size_name != ORIGINAL)):
        content = _with_packet(storage.get(row.storage_key), packet)
        folder, _, name = row.storage_key.rpartition("/")
        recipe, old = hashlib.sha256(content).hexdigest()[:32], row.storage_key
        new = f"{folder}/{recipe}.{name.rpartition('.')[2]}"
        if new == old:
            continue
        storage.put(new, content)
        if_not_kept(db, partial(storage.delete, new))
        once_kept(db, partial(storage.delete, old))
        row.recipe, row.storage_key, row.bytes = recipe, new, len(content)


def _with_packet(content: bytes, packet: bytes) -> bytes:
    """Return a stored WebP with another packet in the place of its own; the pixels stay as they are, bit by bit.

    Source of the container: RFC 9649, WebP Image Format, sections 2.3 and 2.7.
    """
    body, at = b"WEBP", 12
    while at + 8 <= len(content):
        name, length = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "little")
        held = packet if name == b"XMP " else content[at + 8 : at + 8 + length]
        body += name + len(held).to_bytes(4, "little") + held + b"\0" * (len(held) % 2)
        at += 8 + length + length % 2
    return b"RIFF" + len(body).to_bytes(4, "little") + body
