"""Somebody's passkeys: made, listed, shown (as the second step, or as the whole way in), and taken off one by one."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import audit, ceremonies, resets, second_step
from drillhall.people.ceremonies import Known, Site
from drillhall.people.limits import PASSKEY_ASKED
from drillhall.people.person import Person
from drillhall.people.second_step import Shown, ShownPasskey, Spare
from drillhall.people.tokens import make_token
from drillhall.store.models.people import AccountRow, PasskeyRow
from drillhall.store.models.rosters import GivenPassphraseRow
from drillhall.words import say

MOST: Final = 20
LONGEST_NAME: Final = 60
HANDLE_BYTES: Final = 48
"""Drawn at random, as the standard asks: a handle tells nobody whose it is."""


class Refused(Invalid):
    """A passkey that was shown and does not open; `is_copied`: its count went back, so that another device may have the same one."""

    def __init__(self, *, is_copied: bool = False) -> None:
        super().__init__(ceremonies.NOT_IT, field="code")
        self.is_copied = is_copied


@dataclass(frozen=True, slots=True)
class Asked:
    """What a browser was asked for by a passkey, kept in its session: of whom (0: whoever shows one), by which challenge, when."""

    account_id: int
    challenge: str
    at: datetime
    handle: str = ""


@dataclass(frozen=True, slots=True)
class Passkey:
    """A passkey as its owner sees it."""

    id: int
    name: str
    made_at: datetime
    used_at: datetime | None


def list_passkeys(db: Session, account_id: int) -> tuple[Passkey, ...]:
    """Return somebody's passkeys, the oldest first."""
    rows = db.scalars(select(PasskeyRow).where(PasskeyRow.account_id == account_id).order_by(PasskeyRow.id))
    return tuple(Passkey(row.id, row.name, row.made_at, row.used_at) for row in rows)


def ask_to_make(db: Session, person: Person, site: Site, *, at: datetime) -> tuple[Asked, dict[str, Any]]:
    """Return what is asked of a browser so that it makes a passkey, and what its session keeps."""
    row = db.scalars(select(PasskeyRow.user_handle).where(PasskeyRow.account_id == person.id)).first()
    asked = Asked(person.id, make_token(), at, row or secrets.token_urlsafe(HANDLE_BYTES))
    known = _known(db, person.id)
    return asked, ceremonies.ask_to_make(site, challenge=asked.challenge, user_handle=asked.handle, name=person.name, known=known)


def ask_to_show(db: Session, account_id: int, site: Site, *, at: datetime) -> tuple[Asked, dict[str, Any]]:
    """Return what is asked of a browser so that it shows a passkey of somebody's (0: of whoever it is), and what its session keeps."""
    asked = Asked(account_id, make_token(), at)
    known = _known(db, account_id) if account_id else ()
    return asked, ceremonies.ask_to_show(site, challenge=asked.challenge, known=known)


def clean_name(typed: str) -> str:
    """Return the name of a passkey as it is kept, or raise Invalid."""
    name = " ".join(typed.split())
    if not 1 <= len(name) <= LONGEST_NAME:
        raise Invalid(say("Give it a name by which you know the device, of {most} letters at most.", most=LONGEST_NAME), field="name")
    return name


def add(
    db: Session, person: Person, site: Site, asked: Asked, said: str, *, name: str, spare: Iterable[Spare], at: datetime
) -> tuple[str, bool] | None:
    """Keep a passkey that was made, or raise Invalid.

    Where it is her first second step, spare codes are put beside it, every other device is signed out, and this one's new token is
    returned (`sign_ins.renew_token`); else None.
    """
    _check_asked(asked, person.id, at=at)
    made = ceremonies.check_made(site, said, challenge=asked.challenge)
    if len(list_passkeys(db, person.id)) >= MOST:
        raise Conflict(say("You have {most} passkeys, which is as many as the hall keeps. Take one off first.", most=MOST))
    if db.scalar(select(PasskeyRow.id).where(PasskeyRow.credential_id == made.credential_id)) is not None:
        raise Invalid(ceremonies.NOT_MADE)
    was_on = second_step.is_on(db, person.id)
    row = PasskeyRow(account_id=person.id, user_handle=asked.handle, name=clean_name(name), made_at=at, used_at=None)
    row.credential_id, row.public_key, row.sign_count = made.credential_id, made.public_key, made.sign_count
    row.transports = list(made.transports)
    db.add(row)
    db.flush()
    audit.note(db, "passkey made", at=at, by=person.id)
    return None if was_on else second_step.begin_anew(db, person, spare)


def find_owner(db: Session, said: str) -> int:
    """Return whose passkey is said to be shown, not proven yet; 0 where it is nobody's here or nothing that can be read."""
    try:
        row = _find(db, ceremonies.read_named(said).credential_id)
    except Invalid:
        return 0
    return row.account_id if row else 0


def recognise(db: Session, site: Site, asked: Asked, said: str, *, whom: int, at: datetime) -> Shown:
    """Return the passkey of `whom` that was shown where it is good now, or raise Invalid (Refused where it was read); reads only.

    Of nobody in particular (0) it is the whole way in, so it has to say whose it is, and an account that is closed, or whose passphrase
    was given by somebody else and not yet changed, is not entered by it.
    """
    _check_asked(asked, whom, at=at)
    named = ceremonies.read_named(said)
    row = _find(db, named.credential_id)
    if row is None or (whom and row.account_id != whom):
        raise Refused
    says_whose = bool(named.user_handle) and hmac.compare_digest(named.user_handle, row.user_handle)
    if not says_whose and (named.user_handle or not whom):
        raise Refused
    try:
        count = ceremonies.check_shown(site, said, challenge=asked.challenge, public_key=row.public_key)
    except Invalid as error:
        raise Refused from error
    if (count or row.sign_count) and count <= row.sign_count:
        raise Refused(is_copied=True)
    if not whom:
        _check_own_passphrase(db, row.account_id)
    return Shown(row.account_id, passkey=ShownPasskey(row.id, count, asked.challenge, asked.at))


def take_off(db: Session, shown: Shown, passkey_id: int, *, passphrase: str, at: datetime) -> None:
    """Take one passkey off, with a code or a passkey shown; the last way of a second step goes only where the passphrase does alone."""
    hers = list_passkeys(db, shown.account_id)
    if passkey_id not in {one.id for one in hers}:
        raise NotFound(say("That passkey is taken off already."))
    if is_last := len(hers) == 1 and not second_step.has_codes(db, shown.account_id):
        second_step.check_alone(db, shown.account_id, passphrase)
    second_step.use_shown(db, shown, at=at)
    db.execute(delete(PasskeyRow).where(PasskeyRow.id == passkey_id))
    if is_last:
        second_step.forget(db, shown.account_id)
    audit.note(db, "passkey taken off", at=at, by=shown.account_id)


def _find(db: Session, credential_id: str) -> PasskeyRow | None:
    query = select(PasskeyRow).join(AccountRow, AccountRow.id == PasskeyRow.account_id)
    return db.scalar(query.where(PasskeyRow.credential_id == credential_id, AccountRow.retired_at.is_(None)))


def _check_asked(asked: Asked, account_id: int, *, at: datetime) -> None:
    if asked.account_id != account_id or not asked.at <= at < asked.at + PASSKEY_ASKED.window:
        raise Invalid(ceremonies.NOT_IT, field="code")


def _check_own_passphrase(db: Session, account_id: int) -> None:
    # Whoever had got into an account and made a passkey there is out once its passphrase is reset.
    given = db.get(GivenPassphraseRow, account_id) is not None
    if given or resets.find_reset(db, account_id) is not None:
        raise Invalid(say("Your passphrase was reset. Sign in with the one that you were given; your passkey is the second step then."))


def _known(db: Session, account_id: int) -> tuple[Known, ...]:
    rows = db.scalars(select(PasskeyRow).where(PasskeyRow.account_id == account_id))
    return tuple(Known(row.credential_id, tuple(row.transports)) for row in rows)
