"""The pages of the second step that the walk visits: off, being set up, on, passkeys, and at the door."""

from __future__ import annotations

from playwright.sync_api import Page

from drillhall.people import second_step
from drillhall.people.passphrases import hash_passphrase
from drillhall.store.models.people import SecondStepRow, SpareCodeRow
from tests import cast
from tests.browser.visiting import Values, Visit, send
from tests.hall import MADE_AT, Hall
from tests.web.planned import has_a_passkey

SPARE = "BCDFGHJKMNPQ"


def begun(hall: Hall) -> Values:
    """Let the learner have begun to set hers up."""
    with hall.store.work() as db:
        second_step.make_secret(db, hall.people[cast.LEARNER], at=MADE_AT)
    return {}


def on(hall: Hall) -> Values:
    """Let the stranger sign in with a second step."""
    stranger = hall.people[cast.STRANGER]
    with hall.store.work() as db:
        if not second_step.is_on(db, stranger.id):
            second_step.make_secret(db, stranger, at=MADE_AT)
            db.get_one(SecondStepRow, stranger.id).confirmed_at = MADE_AT
        db.add(SpareCodeRow(account_id=stranger.id, handle=SPARE[:4], code_hash=hash_passphrase(SPARE)))
    return {}


def show_a_passphrase(page: Page) -> None:
    """Show the stranger's passphrase at the door."""
    page.fill("main input[name=name]", cast.STRANGER.name)
    page.fill("main input[name=passphrase]", cast.STRANGER.passphrase)
    send(page)


def show_a_wrong_code(page: Page) -> None:
    """Send the form with something that is no code."""
    page.fill("main input[name=code]", "no code")
    send(page)


def show_a_spare_code(page: Page) -> None:
    """Have new spare codes made, and be shown them."""
    page.fill("main input[name=code]", SPARE)
    send(page)


def a_passkey(hall: Hall) -> Values:
    """Let the learner have a passkey."""
    return has_a_passkey(hall)


SECOND_STEP_VISITS = (
    Visit("second_step.state", who=cast.KEEPER),
    Visit("second_step.state", "on", who=cast.STRANGER, where=on),
    Visit("second_step.set_up", who=cast.LEARNER, where=begun),
    Visit("second_step.set_up", "a wrong code", who=cast.LEARNER, where=begun, then=show_a_wrong_code, expected=422),
    Visit("second_step.state", "and new spare codes", who=cast.STRANGER, where=on, then=show_a_spare_code),
    Visit("second_step.spare_codes", "shown before", who=cast.LEARNER),
    Visit("second_step.code", "before the passphrase", expected=404),
    Visit("second_step.mine", who=cast.KEEPER),
    Visit("second_step.mine", "with one", who=cast.LEARNER, where=a_passkey),
    Visit("second_step.take_off", who=cast.LEARNER, where=a_passkey, then=show_a_wrong_code, expected=422),
    Visit("second_step.make_passkey", "before the passphrase", who=cast.KEEPER, expected=404),
    Visit("account.sign_in", "and the second step", where=on, then=show_a_passphrase),
)
