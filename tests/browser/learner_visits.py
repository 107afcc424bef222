"""The learner's pages beside her drill that the walk visits: working a form out, looking ahead, trying a pair."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from contextlib import suppress

from playwright.sync_api import Page

from drillhall.errors import Conflict
from drillhall.people.accounts import list_accounts
from drillhall.practice import trying
from tests import cast
from tests.browser.visiting import Values, Visit
from tests.hall import Hall

FIDDLERS = 1
"""The one pair set of the small catalogue."""


def marked(_hall: Hall) -> Values:
    """Give the address of the set with one trait marked."""
    return {"pair_set_id": FIDDLERS, "seen.bill": "bent"}


def a_trial(pair_id: int) -> Callable[[Hall], Values]:
    """Begin a trial of one of the learner's pairs, or take hers up, and give its address."""

    def find(hall: Hall) -> Values:
        drill_id = str(uuid.UUID(int=70 + pair_id, version=4))
        with hall.store.work() as db, suppress(Conflict):  # it is over already
            learner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
            trying.start_trial(db, learner, pair_id, drill_id=drill_id, at=hall.clock.now)
        return {"drill_id": drill_id}

    return find


def fail(page: Page) -> None:
    """Answer every picture as the first form, until enough is said."""
    while page.locator(".rung").count():
        page.locator(".rung").first.click()


LEARNER_VISITS = (
    Visit("learner.trial", "a picture asked", who=cast.LEARNER, where=a_trial(1)),
    Visit("learner.trial", "over", who=cast.LEARNER, where=a_trial(2), then=fail),
    Visit("learner.look_ahead", "before the first drill", who=cast.STRANGER),
    Visit("learner.look_ahead", "a week after a drill", who=cast.LEARNER, state="a_week_later"),
    Visit(
        "learner.look_ahead", "a day too far", who=cast.LEARNER, state="a_week_later", where=lambda _: {"by": "2099-01-01"}, expected=422
    ),
    Visit("learner.work_out", who=cast.LEARNER),
    Visit("learner.work_out", "with nothing taken", who=cast.STRANGER),
    Visit("learner.work_out_set", "one trait marked", who=cast.LEARNER, where=marked),
    Visit(
        "learner.work_out_set",
        "a word that is no state",
        who=cast.LEARNER,
        where=lambda _: {"pair_set_id": FIDDLERS, "seen.bill": "hooked"},
        expected=422,
    ),
    Visit("learner.work_out_set", "a set not taken", who=cast.STRANGER, where=marked, expected=404),
)
