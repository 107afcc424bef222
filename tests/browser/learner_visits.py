"""The learner's pages beside her drill that the walk visits: working a form out, looking ahead, trying a pair."""

from __future__ import annotations

from tests import cast
from tests.browser.visiting import Values, Visit
from tests.hall import Hall

FIDDLERS = 1
"""The one pair set of the small catalogue."""


def marked(_hall: Hall) -> Values:
    """Give the address of the set with one trait marked."""
    return {"pair_set_id": FIDDLERS, "seen.bill": "bent"}


LEARNER_VISITS = (
    Visit("learner.look_ahead", "before the first drill", who=cast.STRANGER),
    Visit("learner.look_ahead", "a week after a drill", who=cast.LEARNER, state="a_week_later"),
    Visit("learner.look_ahead", "a day too far", who=cast.LEARNER, state="a_week_later", where=lambda _: {"by": "2099-01-01"}, expected=422),
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
