"""Withdraws one's own pictures, brings them back, and lets their files go for good."""

from __future__ import annotations

from datetime import datetime
from functools import partial

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import BadPicture, NotFound
from drillhall.pictures.ingest import forget_files
from drillhall.pictures.rendered import hold
from drillhall.pictures.storage import Storage
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, PictureShareRow
from drillhall.store.queries import own_pictures as queries
from drillhall.store.session import once_kept
from drillhall.words import say


def retire_picture(db: Session, *, account_id: int, public_id: str, at: datetime) -> None:
    """Withdraw somebody's own picture: nobody is shown it from now on; what was answered on it stays."""
    row = _the_row(db, account_id, public_id)
    if row.retired_at is not None:
        raise NotFound(say("There is no such picture of yours."))
    row.retired_at = at


def bring_back(db: Session, *, account_id: int, public_id: str) -> None:
    """Take the withdrawing of somebody's own picture back; raises BadPicture where its files are gone, or the same is here again."""
    row = _the_row(db, account_id, public_id)
    if row.retired_at is None:
        return
    if not queries.files_of(db, row.id):
        raise BadPicture(say("The files of this picture are deleted, so it cannot be brought back. Send it again instead."), field="file")
    if queries.known_bytes(db, account_id, [row.content_sha256]):
        raise BadPicture(say("You have sent this very picture again since. Withdraw that one first."), field="file")
    row.retired_at = None


def delete_files(db: Session, storage: Storage, *, account_id: int, public_id: str, at: datetime) -> None:
    """Withdraw somebody's own picture for good: every file of it is deleted, its row stays for the answers given on it.

    No catalogue holds it any more, no group shares it, no offer of it stays open.
    """
    row = _the_row(db, account_id, public_id)
    for file in queries.files_of(db, row.id):
        db.delete(file)
    row.retired_at = row.retired_at or at
    row.content_sha256, row.found = "", {}  # so that the same picture, come again, is a new one
    _end_reach(db, row.id, by_id=account_id, at=at)
    once_kept(db, partial(forget_files, storage, row.public_id))


def count_originals(db: Session, account_id: int) -> int:
    """Return of how many of somebody's pictures the file is kept as it came."""
    return len(queries.originals_of(db, account_id))


def delete_originals(db: Session, storage: Storage, account_id: int) -> int:
    """Delete the files of somebody's pictures that are kept as they came, and return how many; the sizes made of them stay."""
    rows = queries.originals_of(db, account_id)
    for row in rows:
        db.delete(row)
        once_kept(db, partial(storage.delete, row.storage_key))
    return len(rows)


def _end_reach(db: Session, picture_id: int, *, by_id: int, at: datetime) -> None:
    is_it = {"picture_id": picture_id}
    for held in db.scalars(select(CataloguePictureRow).filter_by(**is_it, retired_at=None)):
        held.retired_at = at
    for share in db.scalars(select(PictureShareRow).filter_by(**is_it, ended_at=None)):
        share.ended_at = at
    for offer in db.scalars(select(PictureOfferRow).filter_by(**is_it, decision="")):
        offer.decision, offer.decided_at, offer.decided_by = "taken back", at, by_id


def _the_row(db: Session, account_id: int, public_id: str) -> PictureRow:
    found = queries.list_mine(db, account_id, queries.named([public_id]))
    if not found:
        raise NotFound(say("There is no such picture of yours."))
    row = found[0][0]
    hold(db, row)
    return row
