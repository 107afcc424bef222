"""Devices that are signed in: a token in the cookie, its hash in the store, and two limits on how long it holds."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from functools import cache
from typing import Any, Final

from sqlalchemy import Row, Select, Update, bindparam, delete, select, update
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people.person import Person, Preferences
from drillhall.people.tokens import hash_token, make_token
from drillhall.store.base import UtcTime
from drillhall.store.models.people import AccountRow, SignInRow
from drillhall.store.queries.many import table_of
from drillhall.words import say

IDLE: Final = timedelta(hours=12)
LONGEST: Final = timedelta(days=2)
IDLE_STAYING: Final = timedelta(days=45)
LONGEST_STAYING: Final = timedelta(days=180)
"""Long, because a phone that is asked for a passphrase out on the mud ends the drill."""
LONGEST_KEEPER: Final = timedelta(days=30)
TOUCH_EVERY: Final = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Device:
    """One device that is signed in, as its owner sees it."""

    id: int
    made_at: datetime
    seen_at: datetime
    until: datetime
    stays: bool
    is_this: bool


def open_sign_in(db: Session, account: AccountRow, *, stay: bool, at: datetime) -> str:
    """Sign a device in and return its token, which is stored nowhere; sign-ins that are over are swept."""
    db.execute(delete(SignInRow).where(SignInRow.account_id == account.id, SignInRow.until <= at))
    longest = LONGEST_STAYING if stay else LONGEST
    if account.is_keeper:
        longest = min(longest, LONGEST_KEEPER)
    token = make_token()
    db.add(SignInRow(account_id=account.id, token_hash=hash_token(token), stay=stay, made_at=at, seen_at=at, until=at + longest))
    db.flush()
    return token


def find_sign_in(db: Session, token: str, *, at: datetime) -> Row[Any] | None:
    """Return the account that a token opens, or None when it is unknown, over, idle or the account is gone.

    The columns are those of an account by which everybody above knows her, and sign_in_id, seen_at and stay of the device.
    """
    # It is asked with every request, so without the session, which would make two rows of what is found.
    found = db.connection().execute(_sign_in(), {"token_hash": hash_token(token), "at": at}).one_or_none()
    if found is None:
        return None
    return found if found.seen_at + (IDLE_STAYING if found.stay else IDLE) > at else None


@cache
def _sign_in() -> Select[Any]:
    hers, its = AccountRow.__table__.c, SignInRow.__table__.c
    is_open = (its.token_hash == bindparam("token_hash"), its.until > bindparam("at", type_=UtcTime()))
    known = (hers.id, hers.name, hers.is_keeper, *(hers[wish.name] for wish in fields(Preferences)))
    found: Select[Any] = select(*known, its.id.label("sign_in_id"), its.seen_at, its.stay)
    return found.join_from(AccountRow.__table__, SignInRow.__table__, hers.id == its.account_id).where(*is_open, hers.retired_at.is_(None))


def is_use_to_note(person: Person, *, at: datetime) -> bool:
    """Whether an unsafe request is to note that the device is in use: it is a device, and that was not noted a moment ago.

    Reading writes nothing, so reading does not prolong a sign-in.
    """
    return person.seen_at is not None and person.seen_at + TOUCH_EVERY < at


def note_use(db: Session, person: Person, *, at: datetime) -> None:
    """Note that somebody's device is in use, unless that was noted a moment ago."""
    if is_use_to_note(person, at=at):
        db.connection().execute(_touch(), {"sign_in_id": person.sign_in_id, "since": at - TOUCH_EVERY, "seen": at})


@cache
def _touch() -> Update:
    table = table_of(SignInRow)
    before = (table.c.id == bindparam("sign_in_id"), table.c.seen_at < bindparam("since", type_=UtcTime()))
    return update(table).where(*before).values(seen_at=bindparam("seen"))


def list_devices(db: Session, account_id: int, *, this: int, at: datetime) -> tuple[Device, ...]:
    """Return the devices an account is signed in on, the one last used first."""
    rows = db.scalars(select(SignInRow).where(SignInRow.account_id == account_id, SignInRow.until > at).order_by(SignInRow.seen_at.desc()))
    return tuple(
        Device(row.id, row.made_at, row.seen_at, row.until, row.stay, row.id == this)
        for row in rows
        if row.seen_at + (IDLE_STAYING if row.stay else IDLE) > at
    )


def renew_token(db: Session, sign_in_id: int) -> tuple[str, bool]:
    """Give a device that is signed in a new token and return it, and whether it stays; the one before is worth nothing from then on."""
    token, row = make_token(), db.get_one(SignInRow, sign_in_id)
    row.token_hash = hash_token(token)
    return token, row.stay


def end_sign_in(db: Session, account_id: int, sign_in_id: int) -> None:
    """End one sign-in of an account, or raise NotFound when it has none of that number."""
    ended = db.execute(
        delete(SignInRow).where(SignInRow.id == sign_in_id, SignInRow.account_id == account_id).returning(SignInRow.id)
    ).one_or_none()
    if ended is None:
        raise NotFound(say("That device is signed out already."))


def end_sign_ins(db: Session, account_id: int, *, but: int = 0) -> None:
    """End all sign-ins of an account, except the one numbered `but`."""
    db.execute(delete(SignInRow).where(SignInRow.account_id == account_id, SignInRow.id != but))
