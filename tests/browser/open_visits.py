"""The pages of open questions, as the walk visits them."""

from __future__ import annotations

from playwright.sync_api import Page

from drillhall.people.permissions import the_led_group
from drillhall.practice.open_questions import keeping
from tests import cast
from tests.browser.groups_at_work import GROUP, group
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall

WORK = "people_who_share"
QUESTION = "00000000-0000-4000-8000-0000000000f1"
ENDED = "00000000-0000-4000-8000-0000000000f2"


def asked(hall: Hall, public_id: str = QUESTION) -> Values:
    """Ask a question, once, for the walk to look at."""
    keeper, at = hall.people[cast.KEEPER], hall.clock.now
    with hall.store.work() as db:
        club = the_led_group(db, keeper, GROUP)
        if public_id not in {one.public_id for one in keeping.list_questions(db, club.id, at=at)}:
            told = {"title": "The bird of the long sluice and the reed beds", "sites": "https://club.example", "zone": "UTC"}
            keeping.make_question(
                db, group_id=club.id, pair_set_id=1, public_id=public_id, seed=public_id, host="hall.example", at=at, **told
            )
    return {"public_id": public_id}


def ended(hall: Hall) -> Values:
    """Ask a question and end it."""
    named = asked(hall, ENDED)
    with hall.store.work() as db:
        keeping.end_question(db, the_led_group(db, hall.people[cast.KEEPER], GROUP).id, ENDED, at=hall.clock.now)
    return named


def led(hall: Hall) -> Values:
    """Name a question of the club."""
    return group(hall) | asked(hall)


def todays_answer(hall: Hall) -> Values:
    """Name today's answer, which sends whoever has not answered back to the question."""
    return asked(hall) | {"day": hall.clock.now.date().isoformat()}


def say(page: Page) -> None:
    """Say the first of the two forms."""
    with page.expect_navigation():
        page.click("main form button >> nth=0")


OPEN_VISITS = (
    Visit("open.question", state=WORK, where=asked),
    Visit("open.question", "signed in", who=cast.STRANGER, state=WORK, where=asked),
    Visit("open.question", "answered", state=WORK, where=asked, then=say),
    Visit("open.question", "over", state=WORK, where=ended, expected=404),
    Visit("open.question", "never there", where=lambda _: {"public_id": QUESTION}, expected=404),
    Visit("open.told", "before it is answered", state=WORK, where=todays_answer),
    Visit("open.told", "answered", state=WORK, where=todays_answer, then=say),
    Visit("open.told", "a day before its first", state=WORK, where=lambda hall: asked(hall) | {"day": "yesterday"}, expected=404),
    Visit("open.questions", "not led", who=cast.LEARNER, state=WORK, where=group, expected=403),
    Visit("open.questions", who=cast.KEEPER, state=WORK, where=lambda hall: {"group_key": led(hall)["group_key"]}),
    Visit("open.questions", "sent empty", who=cast.KEEPER, state=WORK, where=group, then=send, expected=422),
    Visit("open.led", who=cast.KEEPER, state=WORK, where=led),
    Visit("open.led", "ended", who=cast.KEEPER, state=WORK, where=lambda hall: group(hall) | ended(hall)),
)
