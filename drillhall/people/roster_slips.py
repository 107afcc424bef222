"""Passphrases that are given on a slip: drawn from a key that stays in the giver's browser, good for a while, replaced at the first use."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import audit, second_step, sign_ins
from drillhall.people.group import Group
from drillhall.people.passphrases import WORDS_OFFERED, check_passphrase, hash_passphrase, is_passphrase, plain_words
from drillhall.people.person import Person
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.rosters import GivenPassphraseRow
from drillhall.words import say

HOLDS: Final = timedelta(days=28)
AT_ONCE: Final = 8
"""Passphrases that are hashed in one request: each takes about a tenth of a second."""
OVER: Final = say("The passphrase on your slip is over, or was given anew since. Ask whoever gave it to you for another one.")


class OwnNeeded(Exception):
    """Somebody has shown a passphrase that she was given; `account_id` has to choose one of her own before she is let in."""

    def __init__(self, account_id: int, given_at: datetime) -> None:
        super().__init__()
        self.account_id = account_id
        self.given_at = given_at


@dataclass(frozen=True, slots=True)
class Unmade:
    """A slip whose passphrase is still to be hashed."""

    account_id: int
    name: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Slip:
    """What is printed for somebody to sign in with."""

    name: str
    passphrase: str
    until: datetime


@dataclass(frozen=True, slots=True)
class Slips:
    """The slips of one key: `wanted` in all, `made` of them hashed, and told once all are."""

    wanted: int
    made: int
    told: tuple[Slip, ...]


@dataclass(frozen=True, slots=True)
class Given:
    """What somebody is told of the passphrase that she was given; `by` is empty where its giver is gone."""

    account_id: int
    name: str
    by: str
    group: str
    at: datetime
    is_first: bool


def make_key() -> str:
    """Return a new key of 256 bits, to be kept in the giver's browser alone."""
    return secrets.token_hex(32)


def batch_of(key: str) -> str:
    """Return the mark of a key, which may be kept."""
    return sha256(f"slips {key}".encode()).hexdigest()


def unusable_hash() -> str:
    """Return a hash that no passphrase opens and that costs as much to try as any: nobody has seen what it is of."""
    return hash_passphrase(secrets.token_urlsafe(32))


def passphrase_for(key: str, account_id: int, at: datetime) -> str:
    """Return the plain words that a key gives an account at a moment, by HMAC-SHA256 (RFC 2104): one slip tells of no other."""
    drawn = int(hmac.new(bytes.fromhex(key), f"{account_id} {at.timestamp():.6f}".encode(), sha256).hexdigest(), 16)
    words = plain_words()
    said = []
    for _ in range(WORDS_OFFERED):
        drawn, place = divmod(drawn, len(words))
        said.append(words[place])
    return " ".join(said)


def promise(
    db: Session, group: Group, account_ids: Iterable[int], *, by: Person, batch: str, closed_hash: str, at: datetime, is_first: bool = False
) -> None:
    """Take people's passphrases, sign all their devices out, and note that each is given a new one, still to be made."""
    for account in db.scalars(select(AccountRow).where(AccountRow.id.in_(list(account_ids)))).all():
        before = db.get(GivenPassphraseRow, account.id)
        row = before or GivenPassphraseRow(account_id=account.id, is_first=is_first)
        row.group_id, row.given_by, row.batch, row.at, row.until, row.is_made = group.id, by.id, batch, at, at + HOLDS, False
        db.add(row)
        account.passphrase_hash = closed_hash
        sign_ins.end_sign_ins(db, account.id)
        audit.note(db, "passphrase reset", at=at, by=by.id, subject=f"account {account.id}, group {group.id}")
    db.flush()


def next_unmade(db: Session, group: Group, *, batch: str) -> tuple[Unmade, ...]:
    """Return the next few slips of a key that are to be made."""
    query = (
        select(GivenPassphraseRow, AccountRow.name)
        .join(AccountRow, AccountRow.id == GivenPassphraseRow.account_id)
        .where(GivenPassphraseRow.group_id == group.id, GivenPassphraseRow.batch == batch, GivenPassphraseRow.is_made.is_(False))
        .order_by(AccountRow.name_folded)
        .limit(AT_ONCE)
    )
    return tuple(Unmade(row.account_id, name, row.at) for row, name in db.execute(query))


def hashed(unmade: Iterable[Unmade], *, key: str) -> dict[int, str]:
    """Return the hashes of some slips by account; slow, so done while nothing is held."""
    said = {one: check_passphrase(passphrase_for(key, one.account_id, one.at), name="") for one in unmade}
    return {one.account_id: hash_passphrase(passphrase) for one, passphrase in said.items()}


def keep_hashes(db: Session, group: Group, hashes: Mapping[int, str], *, batch: str) -> None:
    """Keep the hashes of some slips, those alone that still wait for this key."""
    query = select(GivenPassphraseRow).where(
        GivenPassphraseRow.account_id.in_(list(hashes)), GivenPassphraseRow.group_id == group.id, GivenPassphraseRow.batch == batch
    )
    for row in db.scalars(query.where(GivenPassphraseRow.is_made.is_(False))).all():
        db.get_one(AccountRow, row.account_id).passphrase_hash = hashes[row.account_id]
        row.is_made = True


def list_slips(db: Session, group: Group, *, key: str) -> Slips:
    """Return the slips that a key opens: of those who have not signed in with theirs yet, by name."""
    query = (
        select(GivenPassphraseRow, AccountRow.name)
        .join(AccountRow, AccountRow.id == GivenPassphraseRow.account_id)
        .where(GivenPassphraseRow.group_id == group.id, GivenPassphraseRow.batch == batch_of(key), AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded)
    )
    rows = db.execute(query).all()
    made = sum(row.is_made for row, _ in rows)
    told = tuple(Slip(name, passphrase_for(key, row.account_id, row.at), row.until) for row, name in rows) if made == len(rows) else ()
    return Slips(len(rows), made, told)


def check_own(db: Session, account_id: int, *, at: datetime) -> None:
    """Let pass whoever's passphrase is her own; raise OwnNeeded where it was given to her, Invalid where that one is over."""
    row = db.get(GivenPassphraseRow, account_id)
    if row is None:
        return
    if row.until <= at:
        raise Invalid(OVER, field="passphrase")
    raise OwnNeeded(account_id, row.at)


def the_given(db: Session, account_id: int, *, given_at: datetime, at: datetime) -> Given:
    """Return what somebody is told who has shown the passphrase given to her at a moment, or raise NotFound where it is over."""
    row, account = db.get(GivenPassphraseRow, account_id), db.get(AccountRow, account_id)
    if row is None or account is None or row.at != given_at or row.until <= at or not row.is_made or account.retired_at is not None:
        raise NotFound(OVER)
    by = db.get(AccountRow, row.given_by) if row.given_by else None
    title = db.get_one(GroupRow, row.group_id).title
    return Given(account_id, account.name, by.name if by else "", title, row.at, row.is_first)


def choose_own(db: Session, given: Given, *, typed: str, at: datetime) -> None:
    """Put a passphrase of her own in the place of the given one, which is good for nothing from then on; raises Invalid."""
    account = db.get_one(AccountRow, given.account_id)
    checked = check_passphrase(typed, name=account.name, strong=second_step.needs_strong(db, account.id), field="new")
    if is_passphrase(typed, account.passphrase_hash):
        raise Invalid(say("That is the one on the slip. Take another one."), field="new")
    row = db.get(GivenPassphraseRow, given.account_id)
    if row is None or row.at != given.at:
        raise Conflict(OVER)
    account.passphrase_hash = hash_passphrase(checked)
    sign_ins.end_sign_ins(db, account.id)
    db.delete(row)
    audit.note(db, "passphrase chosen", at=at, by=account.id)
