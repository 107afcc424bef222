"""How a second step that is shown is looked at: tries counted, refusals written down."""

from __future__ import annotations

from typing import Final

from drillhall.errors import Invalid
from drillhall.people import accounts, audit, limits, passkeys, second_step
from drillhall.people.second_step import Shown
from drillhall.web import forms
from drillhall.web.second_step.asking import passkey_said, recognise_said
from drillhall.web.session import now, store, the_person

REFUSED: Final = "code refused"
PASSKEY_REFUSED: Final = "passkey refused"
COPIED: Final = "copied passkey refused"


def check_passphrase() -> str:
    """Return the passphrase that was typed where it is hers who is signed in, or raise Invalid."""
    person, typed = the_person(), forms.text("passphrase", most=2000)
    with store().work() as db:
        limits.spend_try(db, limits.CONFIRM, str(person.id), at=now())
    with store().look() as db:
        accounts.check_own_passphrase(db, person, typed)
    return typed


def spend_try(account_id: int) -> None:
    """Count one try at a second step, or raise TooMany."""
    with store().work() as db:
        limits.spend_try(db, limits.SECOND_STEP, str(account_id), at=now())
        limits.spend_try(db, limits.SECOND_STEP_DAY, str(account_id), at=now())


def recognise_shown(account_id: int) -> Shown:
    """Count the try and return the passkey that was shown, else the code that was typed; raises Invalid, after it was written down."""
    spend_try(account_id)
    try:
        shown = recognise_said(account_id) if passkey_said() else _recognise_typed(account_id)
    except Invalid as error:
        note_refused(error, account_id)
        raise
    with store().work() as db:
        limits.forget_tries(db, limits.SECOND_STEP, str(account_id))
    return shown


def note_refused(error: Invalid, account_id: int) -> None:
    """Write down that a second step, or (`account_id` 0) a passkey as the whole way in, was refused."""
    is_copied = isinstance(error, passkeys.Refused) and error.is_copied
    act = COPIED if is_copied else PASSKEY_REFUSED if passkey_said() else REFUSED
    with store().work() as db:
        audit.note(db, act, at=now(), subject=f"account {account_id}" if account_id else "")


def _recognise_typed(account_id: int) -> Shown:
    with store().look() as db:
        return second_step.recognise_code(db, account_id, forms.text("code", most=40), at=now())
