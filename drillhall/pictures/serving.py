"""Gives the bytes of a picture to whoever may have them, and to nobody else; asked at every request."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, may
from drillhall.core.values import Use
from drillhall.errors import NotFound
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.queries import pictures as queries

LONGEST_CACHED: Final = timedelta(days=7)
_PUBLIC_ID: Final = re.compile(r"[0-9a-f-]{8,36}")
_RECIPE: Final = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class ServedFile:
    """Bytes to send, and how long whoever gets them may keep them."""

    content: bytes
    media_type: str
    cacheable_seconds: int


def the_file(db: Session, storage: Storage, *, public_id: str, recipe: str, viewer_id: int | None, on: date) -> ServedFile:
    """Return one size of a picture, or raise NotFound, which says alike that there is none and that it is not the viewer's to see.

    `viewer_id` None is a visitor without an account; `on` is the viewer's day.
    """
    found = _found(db, public_id, recipe)
    if found is None or not may_see(db, found[1], found[2], viewer_id=viewer_id, on=on):
        raise NotFound("There is no such picture, or it is not yours to see.")
    file, _, rights = found
    return ServedFile(storage.get(file.storage_key), file.media_type, _cacheable_seconds(rights.may_until, on))


def may_see(db: Session, picture: PictureRow, rights: RightsRow, *, viewer_id: int | None, on: date) -> bool:
    """Whether somebody may see a picture outside a sitting.

    Held-out pictures are for the stewards of the catalogues that hold them; the others for their owner, and for everybody with
    an account once a catalogue has accepted them and their rights allow it.
    """
    if viewer_id is None or picture.retired_at is not None:
        return False
    if picture.use == Use.HELD_OUT:
        return queries.is_steward_of(db, viewer_id, picture.id)
    verdict = may(queries.rights_of(rights), owner_id=picture.owner_id, viewer_id=viewer_id, purpose=Purpose.GROUP, on=on)
    return verdict.allowed and (picture.owner_id == viewer_id or queries.is_accepted(db, picture.id))


def _found(db: Session, public_id: str, recipe: str) -> tuple[FileRow, PictureRow, RightsRow] | None:
    if not (_PUBLIC_ID.fullmatch(public_id) and _RECIPE.fullmatch(recipe)):
        return None
    return queries.find_file(db, public_id, recipe)


def _cacheable_seconds(until: date | None, on: date) -> int:
    """Return the least of seven days and what is left of the permission, counted to the beginning of its last day."""
    left = LONGEST_CACHED if until is None else min(LONGEST_CACHED, until - on)
    return max(0, int(left.total_seconds()))
