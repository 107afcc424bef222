"""The second step at sign-in: a code of the moment or a passkey from a device, or a spare code where that is lost."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import delete, func, or_, select, update
from sqlalchemy.orm import Session

from drillhall.core import one_time
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import audit, hall, limits, sign_ins
from drillhall.people.names import fold_name
from drillhall.people.passphrases import LEAST, LEAST_STRONG, hash_passphrase, is_passphrase, normalise
from drillhall.people.permissions import Role
from drillhall.people.person import Person
from drillhall.people.tokens import CODE_SIGNS, hash_token, read_code
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow, AuditRow, PasskeyRow, SecondStepRow, SpareCodeRow
from drillhall.words import say

SPARE_CODES: Final = 10
HANDLE: Final = 4
SPARE_LENGTH: Final = 12
"""The first four signs find the code; the other eight, 38 bits, are so few that they are hashed like a passphrase."""

TAKEN_OFF: Final = "second step taken off"
NOT_IT: Final = say("That code does not fit, or was used already. Wait for the next one and type it as it stands.")


class CodeNeeded(Exception):
    """Somebody has shown her passphrase and is not in yet: `account_id` has a second step."""

    def __init__(self, account_id: int) -> None:
        super().__init__()
        self.account_id = account_id


@dataclass(frozen=True, slots=True)
class SecondStep:
    """How somebody's second step stands: `since` None where she shows no codes, `taken_off_at` when the keeper last took one off."""

    since: datetime | None
    passkeys: int
    spare_left: int
    least: int
    is_called_for: bool
    taken_off_at: datetime | None

    @property
    def is_on(self) -> bool:
        """Whether the passphrase alone is no way in."""
        return self.since is not None or self.passkeys > 0


@dataclass(frozen=True, slots=True)
class ShownPasskey:
    """A passkey that was shown: which, what its device has counted, and what it was asked for by, when; an answer counts once."""

    id: int
    sign_count: int
    challenge: str
    asked_at: datetime


@dataclass(frozen=True, slots=True)
class Shown:
    """What was right when it was looked at: the code of a time step, (`spare_id`) a spare one, or a passkey. `use_shown` takes it, once."""

    account_id: int
    step: int = 0
    spare_id: int = 0
    passkey: ShownPasskey | None = None


@dataclass(frozen=True, slots=True)
class Spare:
    """A spare code as it is shown once, and what is kept of it."""

    code: str
    handle: str
    code_hash: str


def is_on(db: Session, account_id: int) -> bool:
    """Whether somebody signs in with a second step, of whichever kind."""
    codes = select(SecondStepRow.account_id).where(SecondStepRow.account_id == account_id, SecondStepRow.confirmed_at.is_not(None))
    passkeys = select(PasskeyRow.id).where(PasskeyRow.account_id == account_id)
    return bool(db.scalar(select(or_(codes.exists(), passkeys.exists()))))


def is_called_for(db: Session, account_id: int) -> bool:
    """Whether somebody keeps the hall, leads or teaches, so that a second step or a longer passphrase is asked of her."""
    leads = select(MembershipRow.account_id).where(
        MembershipRow.account_id == account_id, MembershipRow.until.is_(None), MembershipRow.role.in_((Role.LEADER, Role.TEACHER))
    )
    keeps = select(AccountRow.id).where(AccountRow.id == account_id, AccountRow.is_keeper.is_(True))
    return db.scalar(keeps) is not None or db.scalar(leads.limit(1)) is not None


def needs_strong(db: Session, account_id: int) -> bool:
    """Whether her passphrase stands alone before what is others', and so needs more signs."""
    return is_called_for(db, account_id) and not is_on(db, account_id)


def least_signs(db: Session, person: Person) -> int:
    """Return how many signs her passphrase needs."""
    return LEAST_STRONG if needs_strong(db, person.id) else LEAST


def the_state(db: Session, person: Person) -> SecondStep:
    """Return how somebody's second step stands."""
    row = db.get(SecondStepRow, person.id)
    left = select(func.count()).where(SpareCodeRow.account_id == person.id, SpareCodeRow.used_at.is_(None))
    off = select(func.max(AuditRow.at)).where(AuditRow.act == TAKEN_OFF, AuditRow.subject == f"account {person.id}")
    since, called = row.confirmed_at if row else None, is_called_for(db, person.id)
    least = LEAST_STRONG if called else LEAST
    return SecondStep(since, _count_passkeys(db, person.id), db.scalar(left) or 0, least, called, db.scalar(off))


def make_secret(db: Session, person: Person, *, at: datetime) -> None:
    """Make a new secret for somebody who shows no codes yet; it is none until `confirm`."""
    if has_codes(db, person.id):
        raise Conflict(say("You have a second step already. Turn it off first, to set it up on another device."))
    db.merge(SecondStepRow(account_id=person.id, salt=secrets.token_hex(32), made_at=at, confirmed_at=None, last_step=0))
    db.flush()


def the_new_secret(db: Session, person: Person) -> bytes:
    """Return the secret that waits to be confirmed, or raise NotFound: afterwards it is shown to nobody."""
    row = db.get(SecondStepRow, person.id)
    if row is None or row.confirmed_at is not None:
        raise NotFound(say("There is no secret to show. Begin anew, under your second step at sign-in."))
    return secret_of(db, row)


def draw_spare() -> tuple[Spare, ...]:
    """Draw spare codes and hash them; slow, so done while nothing is held."""
    drawn = ["".join(secrets.choice(CODE_SIGNS) for _ in range(SPARE_LENGTH)) for _ in range(SPARE_CODES)]
    return tuple(Spare(f"{code[:4]}-{code[4:8]}-{code[8:]}", code[:HANDLE], hash_passphrase(code)) for code in drawn)


def confirm(db: Session, person: Person, typed: str, spare: Iterable[Spare], *, at: datetime) -> tuple[str, bool]:
    """Turn the second step on by a first code, sign out every other device, and renew this one's token (`sign_ins.renew_token`)."""
    row, secret = db.get(SecondStepRow, person.id), the_new_secret(db, person)
    step = one_time.find_step(secret, typed, at=at, after=0)
    if row is None or step is None:
        raise Invalid(
            say("That code does not fit. Look whether the device's clock is right, and type the code that stands there now."), field="code"
        )
    row.confirmed_at, row.last_step = at, step
    audit.note(db, "second step turned on", at=at, by=person.id)
    return begin_anew(db, person, spare)


def begin_anew(db: Session, person: Person, spare: Iterable[Spare]) -> tuple[str, bool]:
    """Put spare codes in the place of any old ones, sign out every other device, and renew this one's token (`sign_ins.renew_token`)."""
    _put_spare(db, person.id, spare)
    sign_ins.end_sign_ins(db, person.id, but=person.sign_in_id)
    return sign_ins.renew_token(db, person.sign_in_id)


def recognise_code(db: Session, account_id: int, typed: str, *, at: datetime) -> Shown:
    """Return the code that was typed where it is good now, or raise Invalid; reads only. A spare code costs a slow hash."""
    if not is_on(db, account_id):
        raise NotFound(say("There is no second step here."))
    if len(read_code(typed)) == SPARE_LENGTH:
        return _spare_shown(db, account_id, read_code(typed))
    row = db.get_one(SecondStepRow, account_id) if has_codes(db, account_id) else None
    step = one_time.find_step(secret_of(db, row), typed, at=at, after=row.last_step) if row else None
    if step is None:
        raise Invalid(NOT_IT, field="code")
    return Shown(account_id, step=step)


def use_shown(db: Session, shown: Shown, *, at: datetime) -> None:
    """Take what was shown, or raise Invalid where it was taken meanwhile: of two who show it at once, one gets in."""
    if shown.passkey:
        _use_passkey(db, shown.passkey, at=at)
        return
    if shown.spare_id:
        spare = update(SpareCodeRow).where(SpareCodeRow.id == shown.spare_id, SpareCodeRow.used_at.is_(None)).values(used_at=at)
        taken = db.execute(spare.returning(SpareCodeRow.id)).one_or_none()
        audit.note(db, "spare code used", at=at, by=shown.account_id)
    else:
        row = SecondStepRow
        step = update(row).where(row.account_id == shown.account_id, row.last_step < shown.step).values(last_step=shown.step)
        taken = db.execute(step.returning(row.account_id)).one_or_none()
    if taken is None:
        raise Invalid(NOT_IT, field="code")


def renew_spare(db: Session, shown: Shown, spare: Iterable[Spare], *, at: datetime) -> None:
    """Put new spare codes in the place of all old ones, with a code or a passkey shown."""
    use_shown(db, shown, at=at)
    _put_spare(db, shown.account_id, spare)
    audit.note(db, "spare codes made anew", at=at, by=shown.account_id)


def turn_off(db: Session, shown: Shown, *, passphrase: str, at: datetime) -> None:
    """Turn codes off, with one or a passkey shown; where no passkey stays, it raises Invalid if the passphrase is too short alone."""
    if is_last := not _count_passkeys(db, shown.account_id):
        check_alone(db, shown.account_id, passphrase)
    use_shown(db, shown, at=at)
    db.execute(delete(SecondStepRow).where(SecondStepRow.account_id == shown.account_id))
    if is_last:
        forget(db, shown.account_id)
    audit.note(db, "second step turned off", at=at, by=shown.account_id)


def has_codes(db: Session, account_id: int) -> bool:
    """Whether somebody shows codes of the moment."""
    row = db.get(SecondStepRow, account_id)
    return row is not None and row.confirmed_at is not None


def check_alone(db: Session, account_id: int, passphrase: str) -> None:
    """Raise Invalid where her passphrase is too short to stand alone before what is others'."""
    if is_called_for(db, account_id) and len(normalise(passphrase)) < LEAST_STRONG:
        raise Invalid(
            say("Alone, your passphrase needs {least_strong} signs. Change it first; then turn this off.", least_strong=LEAST_STRONG),
            field="passphrase",
        )


def take_off(db: Session, name: str, *, at: datetime, by: int | None) -> None:
    """Take somebody's second step off who has lost device and spare codes, and sign her devices out; it is in the log, and she is told."""
    account = db.scalar(select(AccountRow).where(AccountRow.name_folded == fold_name(name), AccountRow.retired_at.is_(None)))
    if account is None:
        raise NotFound(say("Nobody here is called {name}. `drillhall people list` tells who is.", name=name))
    if not is_on(db, account.id):
        raise Conflict(say("{name} signs in without a second step.", name=account.name))
    forget(db, account.id)
    sign_ins.end_sign_ins(db, account.id)
    audit.note(db, TAKEN_OFF, at=at, by=by, subject=f"account {account.id}")


def mark_of(db: Session, account_id: int) -> str:
    """Return a mark of somebody's passphrase of now: who is half-way in is so until it changes."""
    row = db.get(AccountRow, account_id)
    return hash_token(f"half-way {row.passphrase_hash}") if row is not None and row.retired_at is None else ""


def _spare_shown(db: Session, account_id: int, code: str) -> Shown:
    query = select(SpareCodeRow).where(
        SpareCodeRow.account_id == account_id, SpareCodeRow.used_at.is_(None), SpareCodeRow.handle == code[:HANDLE]
    )
    row = db.scalars(query).first()
    if not is_passphrase(code, row.code_hash if row else None) or row is None:
        raise Invalid(say("That spare code does not fit, or was used already. Take the next one on your list."), field="code")
    return Shown(account_id, spare_id=row.id)


def _put_spare(db: Session, account_id: int, spare: Iterable[Spare]) -> None:
    db.execute(delete(SpareCodeRow).where(SpareCodeRow.account_id == account_id))
    db.add_all(SpareCodeRow(account_id=account_id, handle=one.handle, code_hash=one.code_hash) for one in spare)


def _use_passkey(db: Session, shown: ShownPasskey, *, at: datetime) -> None:
    is_first = limits.use_once(db, limits.PASSKEY_ASKED, shown.challenge, made_at=shown.asked_at)
    counted_on = or_(PasskeyRow.sign_count < shown.sign_count, PasskeyRow.sign_count == 0)
    query = update(PasskeyRow).where(PasskeyRow.id == shown.id, counted_on).values(sign_count=shown.sign_count, used_at=at)
    if not is_first or db.execute(query.returning(PasskeyRow.id)).one_or_none() is None:
        raise Invalid(NOT_IT, field="code")


def _count_passkeys(db: Session, account_id: int) -> int:
    return db.scalar(select(func.count()).where(PasskeyRow.account_id == account_id)) or 0


def forget(db: Session, account_id: int) -> None:
    """Forget all of somebody's second step: codes, passkeys, spare codes."""
    for row in (SpareCodeRow, SecondStepRow, PasskeyRow):
        db.execute(delete(row).where(row.account_id == account_id))


def secret_of(db: Session, row: SecondStepRow) -> bytes:
    """Derive the secret from its salt under the hall's secret by HMAC-SHA-256, so that the table alone gives none away."""
    key = hall.the_secret_key(db).encode()
    return hmac.digest(key, f"second step {row.account_id} {row.salt}".encode(), "sha256")[: one_time.SECRET_BYTES]
