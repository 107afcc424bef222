"""Devices that are signed in: a token in the cookie, its hash in the store, and two limits on how long it holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Final

from sqlalchemy import Select, Update, bindparam, delete, select, update
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people.person import Person
from drillhall.people.tokens import hash_token, make_token
from drillhall.store.base import UtcTime
from drillhall.store.models.people import AccountRow, SignInRow
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


def find_sign_in(db: Session, token: str, *, at: datetime) -> tuple[SignInRow, AccountRow] | None:
    """Return the sign-in that a token opens and its account, or None when it is unknown, over, idle or the account is gone."""
    found = db.execute(_sign_in(), {"token_hash": hash_token(token), "at": at}).one_or_none()
    if found is None:
        return None
    sign_in, account = found
    idle = IDLE_STAYING if sign_in.stay else IDLE
    return (sign_in, account) if sign_in.seen_at + idle > at else None


@cache
def _sign_in() -> Select[SignInRow, AccountRow]:
    """Return the statement, made once: it is sent with every request."""
    is_open = (SignInRow.token_hash == bindparam("token_hash"), SignInRow.until > bindparam("at", type_=UtcTime()))
    joined = select(SignInRow, AccountRow).join(AccountRow, AccountRow.id == SignInRow.account_id)
    return joined.where(*is_open, AccountRow.retired_at.is_(None))


def is_use_to_note(person: Person, *, at: datetime) -> bool:
    """Whether an unsafe request is to note that the device is in use: it is a device, and that was not noted a moment ago.

    Reading writes nothing, so reading does not prolong a sign-in.
    """
    return person.seen_at is not None and person.seen_at + TOUCH_EVERY < at


def note_use(db: Session, person: Person, *, at: datetime) -> None:
    """Note that somebody's device is in use, unless that was noted a moment ago."""
    if is_use_to_note(person, at=at):
        db.execute(_touch(), {"sign_in_id": person.sign_in_id, "since": at - TOUCH_EVERY, "seen": at})


@cache
def _touch() -> Update:
    before = (SignInRow.id == bindparam("sign_in_id"), SignInRow.seen_at < bindparam("since", type_=UtcTime()))
    return update(SignInRow.__table__).where(*before).values(seen_at=bindparam("seen"))  # type: ignore[arg-type]  # a table, as of every row


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
