"""The pages of a class's list that the walk visits: empty, at work, a list that waits, slips, and what is kept."""

from __future__ import annotations

from playwright.sync_api import Page

from drillhall.people import groups, roster
from drillhall.people.roster_rows import Entry
from tests import cast
from tests.browser.field_test_visits import led
from tests.browser.field_tests_at_work import CLASS, EMPTY, NAMES
from tests.browser.visiting import Visit, send
from tests.hall import Hall


def a_list_at_work(hall: Hall) -> None:
    """Let the keeper teach a class of a list of three, of whom one rests, and let a new list wait."""
    keeper, learner, at = hall.people[cast.KEEPER], hall.people[cast.LEARNER], hall.clock.now
    with hall.store.work() as db:
        group = groups.make_group(db, by=keeper, title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=at)
        groups.make_group(db, by=keeper, title="Form Nine", kind="class", is_paid=False, public_id=EMPTY, at=at)
        groups.add_member(db, group.id, learner.id, at=at)
        for names in (NAMES, NAMES[:2]):
            roster.keep_draft(db, group, [Entry(name, f"7c-{row}", row) for row, name in enumerate(names, 1)], by=keeper, at=at)
            mark = roster.the_plan(db, group, adds_only=False, at=at).mark
            roster.carry_out(db, group, by=keeper, mark=mark, adds_only=False, batch="gone", closed_hash="none", at=at)
        waiting = [Entry(NAMES[0], "7c-1", 1), Entry(NAMES[2], "7c-3", 2), Entry(cast.STRANGER.name, "7c-4", 3)]
        roster.keep_draft(db, group, waiting, by=keeper, at=at)


def paste_a_bad_one(page: Page) -> None:
    """Paste a list with faults, and send it."""
    page.fill("#list", "Wenna T., 1\n, 2\nMeriel B., 1\nwenna@example.org, 4")
    send(page)


ROSTER_VISITS = (
    Visit("teacher.roster", "nobody yet", who=cast.KEEPER, state="a_list_at_work", where=led(EMPTY)),
    Visit("teacher.roster", "two and one at rest", who=cast.KEEPER, state="a_list_at_work", where=led()),
    Visit("teacher.roster", "with faults", who=cast.KEEPER, state="a_list_at_work", where=led(), then=paste_a_bad_one, expected=422),
    Visit("teacher.roster", "for a pupil", who=cast.LEARNER, state="a_list_at_work", where=led(), expected=404),
    Visit("teacher.roster_draft", who=cast.KEEPER, state="a_list_at_work", where=led()),
    Visit("teacher.roster_draft", "none waits", who=cast.KEEPER, state="a_list_at_work", where=led(EMPTY), expected=404),
    Visit("teacher.slips", "none at hand", who=cast.KEEPER, state="a_list_at_work", where=led()),
    Visit("teacher.slips", "made anew", who=cast.KEEPER, state="a_list_at_work", where=led(), then=send),
    Visit("teacher.kept", "for the teacher", who=cast.KEEPER, state="a_list_at_work", where=led()),
    Visit("teacher.kept", "for a pupil", who=cast.LEARNER, state="a_list_at_work", where=led()),
    Visit("given.choose", "without a slip", expected=404),
)
