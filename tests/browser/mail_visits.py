"""The pages of mail, as the walk visits them: with a mail server named, and without."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from drillhall.acts import mail_links
from drillhall.config import MailSettings, Settings
from drillhall.people import addresses, groups
from drillhall.post import sealing
from drillhall.web.office import office_of
from tests import cast
from tests.browser.groups_at_work import GROUP
from tests.browser.open_visits import WORK, asked
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall

MAILS = "a_hall_that_mails"
LONG = "oda.the.watcher.of.the.long.sluice.and.the.reed.beds@club-of-the-estuary.example"


def a_hall_that_mails(hall: Hall) -> None:
    """Name a mail server, and let the learner give an address and confirm it."""
    settings: Settings = hall.app.extensions["drillhall.settings"]
    mail = MailSettings("127.0.0.1", 9, "none", "The hall <hall@hall.example>")
    told = replace(settings, mail=mail, public_url=hall.address)
    hall.app.extensions["drillhall.settings"] = told
    office = office_of(told, str(hall.app.secret_key))
    assert office is not None
    with hall.store.work() as db:
        told_by = {"title": "Sluice club", "kind": "club", "is_paid": False, "public_id": GROUP}
        groups.make_group(db, by=hall.people[cast.KEEPER], at=hall.clock.now, **told_by)
        for somebody, public_id in ((cast.LEARNER, "a"), (cast.STRANGER, "b")):
            mail_links.ask_address(db, office, hall.people[somebody], LONG, public_id=public_id, at=hall.clock.now)
        addresses.confirm_address(db, "a", at=hall.clock.now)


def sealed(hall: Hall, purpose: str, **more: object) -> Values:
    """Return the parts of the address of a link in a letter."""
    until = hall.clock.now + timedelta(days=1) if purpose in sealing.TIMED else None
    return {"purpose": purpose.replace(" ", "-"), "token": sealing.seal(str(hall.app.secret_key), purpose, "any", until=until), **more}


MAIL_VISITS = (
    Visit("mail.address", "no mail server", who=cast.LEARNER),
    Visit("mail.address", "confirmed", who=cast.LEARNER, state=MAILS),
    Visit("mail.address", "not confirmed yet", who=cast.STRANGER, state=MAILS),
    Visit("mail.address", "sent empty", who=cast.KEEPER, state=MAILS, then=send, expected=422),
    Visit("mail.link", "to confirm", where=lambda hall: sealed(hall, sealing.CONFIRM_ADDRESS)),
    Visit("mail.link", "to end", where=lambda hall: sealed(hall, sealing.STOP_QUESTION)),
    Visit("mail.link", "done", where=lambda hall: sealed(hall, sealing.STOP_REMINDERS, did="yes")),
    Visit("mail.link", "copied short", where=lambda _: {"purpose": "stop-question", "token": "x"}, expected=404),
    Visit("open.by_mail", "no mail server", state=WORK, where=asked),
    Visit("open.by_mail", state=MAILS, where=asked),
    Visit("open.by_mail", "asked for", state=MAILS, where=lambda hall: asked(hall) | {"did": "asked"}),
    Visit("open.by_mail", "sent empty", state=MAILS, where=asked, then=send, expected=422),
)
