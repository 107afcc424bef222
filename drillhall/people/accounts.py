"""Accounts: made, signed in to, changed and retired."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Row, delete, func, select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid, NameTaken, NotAllowed, NotFound
from drillhall.people import audit, hall, headless, links, second_step, sign_ins
from drillhall.people.names import clean_name, fold_name
from drillhall.people.passphrases import LEAST_STRONG, check_passphrase, hash_passphrase, is_outdated, is_passphrase, normalise
from drillhall.people.person import Person, Preferences
from drillhall.people.preferences import check_preferences, write_preferences
from drillhall.store.models.people import AccountRow, SignInRow
from drillhall.store.models.rosters import GivenPassphraseRow
from drillhall.words import say

NOT_KNOWN = say("That name and passphrase do not belong together. Check both; capitals count in the passphrase alone.")


@dataclass(frozen=True, slots=True)
class Recognised:
    """Somebody who has shown the right passphrase; `fresh_hash` is a stronger hash of it to keep, or empty.

    `is_short`: it has fewer signs than it needs where it stands alone before what is others'.
    """

    account_id: int
    fresh_hash: str = ""
    is_short: bool = False


@dataclass(frozen=True, slots=True)
class Listed:
    """An account as the keeper sees it: nothing of what she answers."""

    id: int
    name: str
    is_keeper: bool
    created_at: datetime
    seen_at: datetime | None
    retired_at: datetime | None


def make_account(
    db: Session, *, name: str, passphrase: str, at: datetime, is_keeper: bool = False, preferences: Preferences | None = None
) -> Person:
    """Make an account and return who it is; raises Invalid or NameTaken. A keeper needs a strong passphrase."""
    shown = clean_name(name)
    checked = check_passphrase(passphrase, name=shown, strong=is_keeper)
    wishes = check_preferences(preferences or Preferences())
    if db.scalar(select(AccountRow.id).where(AccountRow.name_folded == fold_name(shown))) is not None:
        raise NameTaken(say("Somebody here is called {shown} already. Add a word that tells you apart.", shown=shown))
    row = AccountRow(name=shown, name_folded=fold_name(shown), passphrase_hash=hash_passphrase(checked), is_keeper=is_keeper, created_at=at)
    write_preferences(row, wishes)
    db.add(row)
    db.flush()
    audit.note(db, "keeper made" if is_keeper else "account made", at=at, by=row.id)
    return _person(row)


def make_keeper(db: Session, token: str, *, name: str, passphrase: str, at: datetime, preferences: Preferences | None = None) -> Person:
    """Make the first keeper of a hall with the link of its first run, which is used up."""
    if hall.has_keeper(db):
        raise NotFound(say("This hall has a keeper already. Sign in, or ask the keeper for an invitation."))
    links.use_link(db, links.FIRST_RUN, token, at=at)
    return make_account(db, name=name, passphrase=passphrase, at=at, is_keeper=True, preferences=preferences)


def recognise(db: Session, *, name: str, passphrase: str) -> Recognised:
    """Return who shows the right passphrase, or raise Invalid without saying what was wrong; reads only.

    A name that nobody has costs as much time as one that somebody has.
    """
    row = db.scalar(select(AccountRow).where(AccountRow.name_folded == fold_name(name), AccountRow.retired_at.is_(None)))
    fits = is_passphrase(passphrase, row.passphrase_hash if row else None)
    if row is None or not fits:
        raise Invalid(NOT_KNOWN, field="name")
    typed = normalise(passphrase)
    return Recognised(row.id, hash_passphrase(typed) if is_outdated(row.passphrase_hash) else "", len(typed) < LEAST_STRONG)


def sign_in(db: Session, who: Recognised, *, at: datetime, stay: bool = False, instead_of: str = "", act: str = "signed in") -> str:
    """Sign somebody in on this device and return its new token; the token that the device had before ends.

    `act` is how the log of acts calls it: it tells by what she was recognised, where that was more than a passphrase, or another thing.
    """
    account = keep_fresh_hash(db, who)
    if instead_of:
        sign_out(db, instead_of, at=at)
    audit.note(db, act, at=at, by=account.id)
    return sign_ins.open_sign_in(db, account, stay=stay, at=at)


def keep_fresh_hash(db: Session, who: Recognised) -> AccountRow:
    """Keep the stronger hash of a passphrase that was shown, where there is one, and return the account."""
    account = _account(db, who.account_id)
    if who.fresh_hash:
        account.passphrase_hash = who.fresh_hash
    return account


def sign_out(db: Session, token: str, *, at: datetime) -> None:
    """End the sign-in of a token; one that is over already is no fault."""
    found = sign_ins.find_sign_in(db, token, at=at)
    if found is not None:
        sign_ins.end_sign_in(db, found.id, found.sign_in_id)
        audit.note(db, "signed out", at=at, by=found.id)


def step_in(db: Session, token: str, *, at: datetime, instead_of: str = "") -> str:
    """Use a step-in link up and return the token of a new sign-in as its account."""
    account_id = links.use_link(db, links.STEP_IN, token, at=at)
    if account_id is None:
        raise NotFound(say("This link steps in as nobody. Ask for a new one where you got it."))
    return sign_in(db, Recognised(account_id), at=at, instead_of=instead_of, act="signed in by a link")


def whoami(db: Session, token: str, *, at: datetime) -> Person | None:
    """Return who is signed in with a token, or None; reads only."""
    found = sign_ins.find_sign_in(db, token, at=at)
    return _person(found, sign_in_id=found.sign_in_id, seen_at=found.seen_at) if found else None


def the_person_of(db: Session, account_id: int) -> Person:
    """Return who an account is, or raise NotFound."""
    return _person(_account(db, account_id))


def the_person_called(db: Session, name: str) -> Person:
    """Return who has a name in this hall, however it is spelt in capitals, or raise NotFound."""
    row = db.scalar(select(AccountRow).where(AccountRow.name_folded == fold_name(name), AccountRow.retired_at.is_(None)))
    if row is None:
        raise NotFound(say("Nobody here is called {name}. `drillhall people list` tells who is.", name=name))
    return _person(row)


def the_keeper(db: Session) -> Person:
    """Return who has kept the hall longest, or raise NotFound while nobody does."""
    row = db.scalars(
        select(AccountRow).where(AccountRow.is_keeper.is_(True), AccountRow.retired_at.is_(None)).order_by(AccountRow.id)
    ).first()
    if row is None:
        raise NotFound(say("This hall has no keeper yet. Begin with the link that `drillhall serve` prints."))
    return _person(row)


def change_passphrase(db: Session, person: Person, *, old: str, new: str, at: datetime) -> None:
    """Set a new passphrase with the old one shown, and sign out every other device."""
    account = _account(db, person.id)
    if not is_passphrase(old, account.passphrase_hash):
        raise Invalid(say("That is not your passphrase of now. Type it once more."), field="old")
    checked = check_passphrase(new, name=account.name, strong=second_step.needs_strong(db, account.id), field="new")
    if checked == normalise(old):
        raise Invalid(say("That is the passphrase you have. Take another one."), field="new")
    account.passphrase_hash = hash_passphrase(checked)
    sign_ins.end_sign_ins(db, account.id, but=person.sign_in_id)
    audit.note(db, "passphrase changed", at=at, by=account.id)


def check_own_passphrase(db: Session, person: Person, typed: str) -> None:
    """Raise Invalid where it is not the passphrase of whoever is signed in: asked before what cannot be undone."""
    if not is_passphrase(typed, _account(db, person.id).passphrase_hash):
        raise Invalid(say("That is not your passphrase. Type it once more."), field="passphrase")


def reset_passphrase(db: Session, *, name: str, passphrase: str, at: datetime, by: int | None) -> None:
    """Give somebody a new passphrase without the old one, sign out all her devices and write it in the audit log.

    A slip that she was given before is good for nothing from then on.
    """
    account = db.scalar(select(AccountRow).where(AccountRow.name_folded == fold_name(name), AccountRow.retired_at.is_(None)))
    if account is None:
        raise NotFound(say("Nobody here is called {clean_name}. `drillhall people list` tells who is.", clean_name=clean_name(name)))
    strong = second_step.needs_strong(db, account.id)
    account.passphrase_hash = hash_passphrase(check_passphrase(passphrase, name=account.name, strong=strong))
    db.execute(delete(GivenPassphraseRow).where(GivenPassphraseRow.account_id == account.id))
    sign_ins.end_sign_ins(db, account.id)
    audit.note(db, "passphrase reset", at=at, by=by, subject=f"account {account.id}")


def set_preferences(db: Session, person: Person, wishes: Preferences, *, at: datetime) -> None:
    """Keep how a person wants her drills, or raise Invalid naming the field."""
    write_preferences(_account(db, person.id), check_preferences(wishes))


def list_accounts(db: Session) -> tuple[Listed, ...]:
    """Return every account, those in use first, by name."""
    seen = select(SignInRow.account_id, func.max(SignInRow.seen_at).label("seen_at")).group_by(SignInRow.account_id).subquery()
    rows = db.execute(
        select(AccountRow, seen.c.seen_at)
        .outerjoin(seen, seen.c.account_id == AccountRow.id)
        .order_by(AccountRow.retired_at.is_not(None), AccountRow.name_folded)
    )
    return tuple(Listed(row.id, row.name, row.is_keeper, row.created_at, seen_at, row.retired_at) for row, seen_at in rows)


def retire_account(db: Session, account_id: int, *, by: Person, at: datetime) -> None:
    """Close an account: nobody can sign in to it any more, and its devices are signed out; its answers stay.

    A group with nobody else in it is archived; one that she alone led is among `headless.list_headless` from now on.
    """
    account = _account(db, account_id)
    if account.id == by.id:
        raise NotAllowed(say("You cannot close your own account while you keep the hall."))
    if account.retired_at is not None:
        raise Conflict(say("The account of {name} is closed already.", name=account.name))
    account.retired_at = at
    sign_ins.end_sign_ins(db, account.id)
    db.flush()
    headless.archive_deserted(db, account.id, by=by.id, at=at)
    audit.note(db, "account closed", at=at, by=by.id, subject=f"account {account.id}")


def _account(db: Session, account_id: int) -> AccountRow:
    row = db.get(AccountRow, account_id)
    if row is None:
        raise NotFound(say("There is no such account."))
    return row


def _person(row: AccountRow | Row[Any], *, sign_in_id: int = 0, seen_at: datetime | None = None) -> Person:
    wishes = Preferences(
        zone=row.zone,
        language=row.language,
        minutes_a_day=row.minutes_a_day,
        target_recall=row.target_recall,
        new_a_day=row.new_a_day,
        round_length=row.round_length,
        colour_vision=row.colour_vision,
        list_name=row.list_name,
        single_keys=row.single_keys,
        letter_keys=row.letter_keys,
        in_words=row.in_words,
        keep_originals=row.keep_originals,
    )
    return Person(row.id, row.name, row.is_keeper, wishes, sign_in_id, seen_at)
