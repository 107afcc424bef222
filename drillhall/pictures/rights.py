"""Changes what may be done with a picture: its row, the columns that queries filter by, and the packets inside its files."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from functools import partial
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import WITH_PERMISSION
from drillhall.core.rights import Rights, check_rights, columns, consequences
from drillhall.core.values import Rendition
from drillhall.errors import BadRights, NotFound
from drillhall.pictures.framing import cut_again, is_alterable
from drillhall.pictures.ingest import ORIGINAL, note_bytes, rights_row
from drillhall.pictures.rendered import hold
from drillhall.pictures.renditions import rights_packet
from drillhall.pictures.storage import Storage
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import FileRow, PictureOfferRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.queries.pictures import find_own, rights_of
from drillhall.store.session import if_not_kept, once_kept
from drillhall.words import say

AS_TAKEN: Final = Rendition.AS_TAKEN.value
LAST_ZONE: Final = timezone(timedelta(hours=-12))
"""The zone in which a day ends last."""


def write_rights(db: Session, storage: Storage, picture_id: int, rights: Rights) -> bool:
    """Give a picture other rights, and its files a packet that tells them; return whether anything changed.

    What was cut or altered goes where nobody, its owner included, may have it so any more; a cut is made again once they may. Old
    files go once the work is kept.
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
    cut_again(db, storage, db.get_one(PictureRow, picture_id), rights)
    return True


def the_own_rights(db: Session, account_id: int, public_id: str) -> Rights:
    """Return the rights of somebody's own picture, or raise NotFound."""
    return rights_of(db.get_one(RightsRow, _the_own(db, account_id, public_id).id))


def what_changes(db: Session, *, account_id: int, public_id: str, rights: Rights) -> tuple[str, ...]:
    """Return what other rights would bring about, in sentences, before anything is changed."""
    picture = _the_own(db, account_id, public_id)
    told = consequences(rights_of(db.get_one(RightsRow, picture.id)), rights)
    groups = tuple(say("It is no longer shared with {title}.", title=group.title) for _, group in _shares_to_end(db, picture.id, rights))
    offers = (say("It is no longer offered to a catalogue."),) if _offers_to_take_back(db, picture.id, rights) else ()
    return told + groups + offers


def change_own_rights(db: Session, storage: Storage, *, account_id: int, public_id: str, rights: Rights, at: datetime) -> None:
    """Give somebody's own picture other rights; shares and offers that they no longer allow end."""
    picture = _the_own(db, account_id, public_id)
    hold(db, picture)
    write_rights(db, storage, picture.id, rights)
    for share, _ in _shares_to_end(db, picture.id, rights):
        share.ended_at = at
    for offer in _offers_to_take_back(db, picture.id, rights):
        offer.decision, offer.decided_at, offer.decided_by = "taken back", at, account_id


def end_permission(db: Session, storage: Storage, *, account_id: int, public_id: str, at: datetime) -> None:
    """End the permission that somebody's own picture rests on, at once wherever its viewers are.

    One that was given only today ends with today.
    """
    picture = _the_own(db, account_id, public_id)
    hold(db, picture)
    rights = rights_of(db.get_one(RightsRow, picture.id))
    if rights.licence != WITH_PERMISSION:
        raise BadRights(say("This picture rests on no permission that could be ended."), field="licence")
    ended = at.astimezone(LAST_ZONE).date() - timedelta(days=1)
    until = max(ended, rights.granted_on) if rights.granted_on else ended
    if rights.until is None or until < rights.until:
        write_rights(db, storage, picture.id, replace(rights, until=until))


def _the_own(db: Session, account_id: int, public_id: str) -> PictureRow:
    row = find_own(db, account_id, public_id)
    if row is None:
        raise NotFound(say("There is no such picture of yours."))
    return row


def _shares_to_end(db: Session, picture_id: int, rights: Rights) -> list[tuple[PictureShareRow, GroupRow]]:
    kept = columns(rights)
    query = (
        select(PictureShareRow, GroupRow)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .where(PictureShareRow.picture_id == picture_id, PictureShareRow.ended_at.is_(None))
        .order_by(GroupRow.title, GroupRow.id)
    )
    return [(share, group) for share, group in db.execute(query) if not (kept.may_paid if group.is_paid else kept.may_group)]


def _offers_to_take_back(db: Session, picture_id: int, rights: Rights) -> list[PictureOfferRow]:
    if columns(rights).may_group:
        return []
    return list(db.scalars(select(PictureOfferRow).where(PictureOfferRow.picture_id == picture_id, PictureOfferRow.decision == "")))


def _write_files(db: Session, storage: Storage, picture_id: int, rights: Rights) -> None:
    packet = rights_packet(rights)
    for row in db.scalars(select(FileRow).where(FileRow.picture_id == picture_id, FileRow.size_name != ORIGINAL)):
        if row.rendition != AS_TAKEN and not is_alterable(rights):
            db.delete(row)
            once_kept(db, partial(storage.delete, row.storage_key))
            continue
        try:
            kept = storage.get(row.storage_key)
        except NotFound:  # a lost file must not keep rights from being tightened; its row stays, so that verifying tells of it
            continue
        content = _with_packet(kept, packet)
        if content == kept:
            continue
        folder, _, name = row.storage_key.rpartition("/")
        recipe, old = hashlib.sha256(content).hexdigest()[:32], row.storage_key
        new = f"{folder}/{recipe}.{name.rpartition('.')[2]}"
        storage.put(new, content)
        if_not_kept(db, partial(storage.delete, new))
        once_kept(db, partial(storage.delete, old))
        row.recipe, row.storage_key = recipe, new
        note_bytes(row, content)


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
