"""Gives the bytes of a picture to whoever may have them, and to nobody else; asked at every request."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, columns, may
from drillhall.core.values import Rendition, Use
from drillhall.errors import NotFound
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries import pictures as queries
from drillhall.store.queries.sharing import is_offered_to, is_shared_with
from drillhall.words import say

AS_TAKEN: Final = Rendition.AS_TAKEN.value
LONGEST_CACHED: Final = timedelta(days=7)
LONGEST_OPEN: Final = timedelta(hours=1)
"""What anybody was shown is gone soon after it was withdrawn."""
_PUBLIC_ID: Final = re.compile(r"[0-9a-f-]{8,36}")
_RECIPE: Final = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class ServedFile:
    """Bytes to send, and how long whoever gets them may keep them."""

    content: bytes
    media_type: str
    cacheable_seconds: int


def the_file(db: Session, storage: Storage, *, public_id: str, recipe: str, viewer_id: int | None, on: date, at: datetime) -> ServedFile:
    """Return one size of a picture, or raise NotFound, which says alike that there is none and that it is not the viewer's to see.

    `viewer_id` None is a visitor without an account; `on` is the viewer's day, `at` the moment of asking.
    """
    found = _found(db, public_id, recipe)
    if found is None or not may_see(db, found[1], found[2], viewer_id=viewer_id, on=on, rendition=found[0].rendition):
        raise NotFound(say("There is no such picture, or it is not yours to see."))
    file, picture, rights = found
    packet_until = queries.packet_until(db, viewer_id, picture.id, at=at) if viewer_id is not None else None
    seconds = _cacheable_seconds(rights.may_until, on, None if packet_until is None else packet_until - at)
    return ServedFile(storage.get(file.storage_key), file.media_type, seconds)


def the_open_file(db: Session, storage: Storage, *, public_id: str, recipe: str, on: date) -> ServedFile:
    """Return one size of a picture to anybody at all, or raise NotFound; which picture is being asked about, its question decides."""
    found = _found(db, public_id, recipe)
    if found is None or not _may_be_open(*found, on=on):
        raise NotFound(say("There is no such picture, or it is not yours to see."))
    file, _, rights = found
    seconds = _cacheable_seconds(rights.may_until, on, LONGEST_OPEN)
    return ServedFile(storage.get(file.storage_key), file.media_type, seconds)


def the_held_out_file(db: Session, storage: Storage, *, public_id: str, recipe: str, on: date) -> ServedFile:
    """Return one size of a held-out picture, or raise NotFound; that its viewer is sitting a test that asks it, the caller has made sure.

    Nothing of it may be kept by a browser, so that it is seen in a sitting alone.
    """
    found = _found(db, public_id, recipe)
    if found is None or not _may_be_sat(*found, on=on):
        raise NotFound(say("There is no such picture, or it is not yours to see."))
    return ServedFile(storage.get(found[0].storage_key), found[0].media_type, 0)


def _may_be_sat(file: FileRow, picture: PictureRow, rights: RightsRow, *, on: date) -> bool:
    if picture.retired_at is not None or picture.described_at is None or picture.use != Use.HELD_OUT:
        return False
    said = columns(queries.rights_of(rights))
    runs = said.may_until is None or on <= said.may_until
    return said.may_group and runs and (file.rendition == AS_TAKEN or said.may_alter)


def _may_be_open(file: FileRow, picture: PictureRow, rights: RightsRow, *, on: date) -> bool:
    if picture.retired_at is not None or picture.described_at is None or picture.use != Use.PRACTICE:
        return False
    said = queries.rights_of(rights)
    is_open = may(said, owner_id=picture.owner_id, viewer_id=None, purpose=Purpose.OPEN_QUESTION, on=on).allowed
    return is_open and (file.rendition == AS_TAKEN or columns(said).may_alter)


def may_see(db: Session, picture: PictureRow, rights: RightsRow, *, viewer_id: int | None, on: date, rendition: str = AS_TAKEN) -> bool:
    """Whether somebody may see a picture outside a sitting, as it was taken or in a rendition that alters it.

    A picture that is not described yet is its owner's alone. Held-out pictures are for the stewards of the catalogues that hold
    them or that they are offered to; the others for their owner, and, as far as their rights allow it, for everybody with an
    account once a catalogue has accepted them, for the people of a group they are shared with, and for the stewards of a
    catalogue they are offered to.
    """
    if viewer_id is None or picture.retired_at is not None:
        return False
    if picture.described_at is None and viewer_id != picture.owner_id:
        return False
    if picture.use == Use.HELD_OUT and not (queries.is_steward_of(db, viewer_id, picture.id) or is_offered_to(db, viewer_id, picture.id)):
        return False
    said = queries.rights_of(rights)
    wanted = (Purpose.GROUP,) if rendition == AS_TAKEN else (Purpose.GROUP, Purpose.ALTERED)
    judged = (may(said, owner_id=picture.owner_id, viewer_id=viewer_id, purpose=purpose, on=on) for purpose in wanted)
    return all(verdict.allowed for verdict in judged) and _is_reached(db, picture, viewer_id)


def _is_reached(db: Session, picture: PictureRow, viewer_id: int) -> bool:
    return (
        picture.owner_id == viewer_id
        or queries.is_accepted(db, picture.id)
        or is_shared_with(db, viewer_id, picture.id)
        or is_offered_to(db, viewer_id, picture.id)
    )


def _found(db: Session, public_id: str, recipe: str) -> tuple[FileRow, PictureRow, RightsRow] | None:
    if not (_PUBLIC_ID.fullmatch(public_id) and _RECIPE.fullmatch(recipe)):
        return None
    return queries.find_file(db, public_id, recipe)


def _cacheable_seconds(until: date | None, on: date, of_packet: timedelta | None) -> int:
    """Return the least of seven days, what is left of the permission, counted to the beginning of its last day, and of the packet."""
    left = [LONGEST_CACHED]
    if until is not None:
        left.append(until - on)
    if of_packet is not None:
        left.append(of_packet)
    return max(0, int(min(left).total_seconds()))
