"""The pages of field tests that the walk visits: for whoever teaches, and for whoever sits one."""

from __future__ import annotations

from collections.abc import Callable

from tests import cast
from tests.browser.field_tests_at_work import CLASS, EMPTY, SITTING
from tests.browser.group_visits import open_all
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall

TESTS = "tests_at_work"


def led(group_key: str = CLASS, **more: object) -> Callable[[Hall], Values]:
    """Return how a class, and a thing of it, is named."""
    return lambda _: {"group_key": group_key, **more}


def sat(**more: object) -> Callable[[Hall], Values]:
    """Return how the learner's sitting, and a place in it, is named."""
    return lambda _: {"sitting_id": SITTING, **more}


FIELD_TEST_VISITS = (
    Visit("teacher.field_tests", "none yet", who=cast.KEEPER, state=TESTS, where=led(EMPTY)),
    Visit("teacher.field_tests", "two", who=cast.KEEPER, state=TESTS, where=led()),
    Visit("teacher.set_field_test", who=cast.KEEPER, state=TESTS, where=led(set_id=1), then=open_all),
    Visit("teacher.set_field_test", "sent empty", who=cast.KEEPER, state=TESTS, where=led(EMPTY, set_id=1), then=send, expected=422),
    Visit("teacher.field_test", "over", who=cast.KEEPER, state=TESTS, where=led(test_id=1), then=open_all),
    Visit("teacher.field_test", "being sat", who=cast.KEEPER, state=TESTS, where=led(test_id=2), then=open_all),
    Visit("teacher.field_test", "another class's", who=cast.KEEPER, state=TESTS, where=led(EMPTY, test_id=1), expected=404),
    Visit("teacher.item_analysis", who=cast.KEEPER, state=TESTS, where=led(test_id=1)),
    Visit("teacher.item_analysis", "nobody through", who=cast.KEEPER, state=TESTS, where=led(test_id=2)),
    Visit("teacher.compare_sittings", who=cast.KEEPER, state=TESTS, where=led(test_id=1)),
    Visit("sittings.tests", "two", who=cast.LEARNER, state=TESTS),
    Visit("sittings.tests", "in no group", who=cast.STRANGER, state=TESTS, expected=404),
    Visit("sittings.test", "with results", who=cast.LEARNER, state=TESTS, where=lambda _: {"test_id": 1}),
    Visit("sittings.test", "being sat", who=cast.LEARNER, state=TESTS, where=lambda _: {"test_id": 2}),
    Visit("sittings.question", who=cast.LEARNER, state=TESTS, where=sat(place=2)),
    Visit("sittings.question", "answered", who=cast.LEARNER, state=TESTS, where=sat(place=1)),
    Visit("sittings.sitting", who=cast.LEARNER, state=TESTS, where=sat()),
    Visit("sittings.sitting", "anothers", who=cast.KEEPER, state=TESTS, where=sat(), expected=404),
)
