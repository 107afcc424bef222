"""Where people are reached by mail: optional, good once confirmed from the letter itself, and forgotten when taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from drillhall.core.addresses import read_address
from drillhall.errors import NotFound
from drillhall.people.person import Person
from drillhall.store.models.people import AccountRow
from drillhall.store.models.post import AddressRow
from drillhall.words import say

HOLDS: Final = timedelta(hours=48)
"""How long one has to confirm."""


@dataclass(frozen=True, slots=True)
class Reached:
    """Where somebody is reached, and whether she wants reminders; `confirmed_at` None: nothing goes there yet."""

    account_id: int
    public_id: str
    address: str
    confirmed_at: datetime | None
    reminders: bool


def find_address(db: Session, person: Person) -> Reached | None:
    """Return where somebody is reached, or None."""
    row = db.get(AddressRow, person.id)
    return _reached(row) if row else None


def say_address(db: Session, person: Person, typed: str, *, public_id: str, at: datetime) -> Reached:
    """Keep an address, to be confirmed, in place of the one before; `public_id` is a new unguessable name. Raises Invalid."""
    address = read_address(typed)
    db.execute(select(AccountRow.id).where(AccountRow.id == person.id).with_for_update())
    before = db.get(AddressRow, person.id)
    if before is not None and before.address == address and before.confirmed_at is not None:
        return _reached(before)
    row = before or AddressRow(account_id=person.id, reminders=True)
    row.public_id, row.address, row.asked_at, row.confirmed_at = public_id, address, at, None
    db.add(row)
    db.flush()
    return _reached(row)


def confirm_address(db: Session, public_id: str, *, at: datetime) -> None:
    """Take an address for good, or raise NotFound where another took its place or its time is over; twice is no fault."""
    row = db.scalar(select(AddressRow).where(AddressRow.public_id == public_id))
    if row is None or (row.confirmed_at is None and row.asked_at + HOLDS < at):
        raise NotFound(say("This link is over: two days have passed, or another address was given since. Give the address once more."))
    row.confirmed_at = row.confirmed_at or at


def forget_address(db: Session, person: Person) -> None:
    """Forget where somebody is reached."""
    db.execute(delete(AddressRow).where(AddressRow.account_id == person.id))


def forget_refused(db: Session, account_id: int, address: str) -> None:
    """Forget an address of somebody's that is refused for good, unless she has given another one by now."""
    db.execute(delete(AddressRow).where(AddressRow.account_id == account_id, AddressRow.address == address))


def want_reminders(db: Session, person: Person, *, wants: bool) -> None:
    """Say whether one wants reminders."""
    db.execute(update(AddressRow).where(AddressRow.account_id == person.id).values(reminders=wants))


def stop_reminders(db: Session, public_id: str) -> int | None:
    """End the reminders of whoever a letter went to, and return her account; None where the address is not kept any more."""
    ended = update(AddressRow).where(AddressRow.public_id == public_id).values(reminders=False).returning(AddressRow.account_id)
    return db.execute(ended).scalar_one_or_none()


def forget_unconfirmed(db: Session, *, at: datetime) -> None:
    """Forget addresses that nobody confirmed in time."""
    db.execute(delete(AddressRow).where(AddressRow.confirmed_at.is_(None), AddressRow.asked_at < at - HOLDS))


def _reached(row: AddressRow) -> Reached:
    return Reached(row.account_id, row.public_id, row.address, row.confirmed_at, row.reminders)
