"""What the whole hall has set: its secret, whether anybody may join, and what the keeper may know of its state."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.errors import Invalid, Unavailable
from drillhall.people import audit
from drillhall.people.person import Person
from drillhall.store.models.people import AccountRow, SettingRow
from drillhall.store.queries import keeper
from drillhall.store.session import SECRET
from drillhall.words import say

KEY_OF_FORMS = "secret_key"
MARK_OF_SECRET = "secret_mark"  # noqa: S105 - the name of a setting
"""What is kept of a secret that lies in a file: enough to know it again, and nothing to sign with."""
IN_A_FILE = say("This hall's secret lies in a file that the program was not told of. Name it in DRILLHALL_SECRET_FILE.")
OPEN_SIGN_UP = "open_sign_up"
LEAST_AGE = "least_age"
LAST_BACKUP = "last_backup"
DEFAULT_LEAST_AGE = 16
AGES = range(1, 22)
"""What the least age may be set to, in years."""


@dataclass(frozen=True, slots=True)
class Backup:
    """When the last backup was taken, and its size in bytes; `is_restored`: the hall was restored from it, and none was taken since."""

    at: datetime
    size: int
    is_restored: bool = False


def find_secret_key(db: Session) -> str | None:
    """Return the hall's secret: what the program was opened with, else what lies in the database; None where neither is."""
    opened_with = db.info.get(SECRET)
    known = _find(db, KEY_OF_FORMS) if opened_with is None else opened_with
    return known if isinstance(known, str) else None


def the_secret_key(db: Session) -> str:
    """Return the hall's secret, or raise Unavailable: nothing is derived from a secret that is not there."""
    known = find_secret_key(db)
    if known is None:
        raise Unavailable(IN_A_FILE)
    return known


def make_secret_key(db: Session) -> str:
    """Make the hall's secret unless it has one, and return it; raises Invalid where it has one in a file that nobody named."""
    known = find_secret_key(db)
    if known is not None:
        return known
    if _find(db, MARK_OF_SECRET) is not None:
        raise Invalid(IN_A_FILE, field="DRILLHALL_SECRET_FILE")
    made = secrets.token_hex(32)
    db.add(SettingRow(key=KEY_OF_FORMS, value=made))
    db.flush()
    return made


def is_set_up(db: Session) -> bool:
    """Whether the hall has a secret, wherever that lies; asks the database."""
    return db.scalar(select(func.count()).where(SettingRow.key.in_((KEY_OF_FORMS, MARK_OF_SECRET)))) != 0


def count_everything(db: Session) -> tuple[tuple[str, int], ...]:
    """Return what the hall holds, counted: accounts, pairs, pictures, answers and so on."""
    return keeper.count_everything(db)


def has_keeper(db: Session) -> bool:
    """Whether somebody keeps this hall already."""
    who = select(AccountRow.id).where(AccountRow.is_keeper.is_(True), AccountRow.retired_at.is_(None))
    return bool(db.scalar(select(func.count()).select_from(who.subquery())))


def is_open(db: Session) -> bool:
    """Whether anybody may join without an invitation."""
    return _find(db, OPEN_SIGN_UP) is True


def least_age(db: Session) -> int:
    """Return how old one must be to join without a teacher or leader. What the law asks differs by country; 16 satisfies most."""
    known = _find(db, LEAST_AGE)
    return known if isinstance(known, int) else DEFAULT_LEAST_AGE


def set_least_age(db: Session, years: int, *, by: Person, at: datetime) -> None:
    """Set from what age on one joins without a teacher or leader; raises Invalid, naming the field, outside of AGES."""
    if years not in AGES:
        raise Invalid(say("Years: from {first} to {last}.", first=AGES[0], last=AGES[-1]), field="years")
    db.merge(SettingRow(key=LEAST_AGE, value=years))
    audit.note(db, "least age set", at=at, by=by.id, subject=f"{years} years")


def set_open(db: Session, *, is_open: bool) -> None:
    """Let anybody join, or nobody without an invitation."""
    db.merge(SettingRow(key=OPEN_SIGN_UP, value=is_open))
    db.flush()


def note_backup(db: Session, *, at: datetime, size: int) -> None:
    """Note that a backup was taken."""
    db.merge(SettingRow(key=LAST_BACKUP, value={"at": at.isoformat(), "size": size}))
    db.flush()


def note_restored(db: Session, *, at: datetime, size: int) -> None:
    """Note that the hall was restored from a backup taken at `at`: what its rows tell is the one before that."""
    db.merge(SettingRow(key=LAST_BACKUP, value={"at": at.isoformat(), "size": size, "restored": True}))
    db.flush()


def last_backup(db: Session) -> Backup | None:
    """Return the last backup that was taken of this hall, or that it was restored from; None where there is neither."""
    known = _find(db, LAST_BACKUP)
    if not isinstance(known, dict):
        return None
    return Backup(datetime.fromisoformat(known["at"]), known["size"], is_restored=known.get("restored") is True)


def _find(db: Session, key: str) -> Any:
    return db.scalar(select(SettingRow.value).where(SettingRow.key == key))
