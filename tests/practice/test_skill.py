"""What planning reads of a learner's counts: the weeks that weigh anything, however long she has drilled."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta

from sqlalchemy import event, text
from sqlalchemy.orm import Session

from drillhall.core.confusion import week_of
from drillhall.practice.needs import the_needs
from drillhall.practice.planning import plan_for
from drillhall.practice.skill import skill_for_planning, the_skill
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow, TallyRow
from drillhall.store.session import Store
from tests.practice.small_hall import SmallHall

TODAY = date(2031, 3, 3)


def count_weeks(db: Session, hall: SmallHall, *, first: int, last: int) -> None:
    """Count one answer of either form of each pair in each week from so many weeks ago to so many."""
    forms = {hall.pairs[0]: (0, 1), hall.pairs[1]: (1, 2), hall.pairs[2]: (0, 3)}
    for ago in range(last, first):
        for pair_id, places in forms.items():
            for place in places:
                cell = {"shown_form_id": hall.forms[place], "said_form_id": hall.forms[places[0]]}
                cell |= {"week": week_of(TODAY - timedelta(weeks=ago)), "fresh": False, "prompted": False}
                db.add(
                    TallyRow(account_id=hall.learner, pair_id=pair_id, rendition="as taken", orientation="left", choices=2, count=1, **cell)
                )
    db.flush()
    db.expire_all()


@contextmanager
def counted(db: Session) -> Iterator[list[str]]:
    """Collect the statements that are sent meanwhile."""
    sent: list[str] = []

    def keep(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        sent.append(statement)

    event.listen(db.get_bind(), "before_cursor_execute", keep)
    try:
        yield sent
    finally:
        event.remove(db.get_bind(), "before_cursor_execute", keep)


def test_five_years_are_planned_from_as_few_rows_and_statements_as_one(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        account = db.get_one(AccountRow, hall.learner)
        count_weeks(db, hall, first=50, last=0)
        with counted(db) as one_year:
            before = plan_for(db, account, today=TODAY)
        count_weeks(db, hall, first=260, last=50)
        with counted(db) as five_years:
            after = plan_for(db, account, today=TODAY)
        rows = [sum(len(tally) for tally in plan.skill.tallies.values()) for plan in (before, after)]
        assert len(five_years) == len(one_year)
        assert rows[1] <= rows[0] * 54 / 50
        whole = the_skill(db, hall.learner, today=TODAY)
        assert sum(len(tally) for tally in whole.tallies.values()) > 4 * rows[1]
        for pair_id, (first, second) in zip(hall.pairs, ((0, 1), (1, 2), (0, 3)), strict=True):
            both = hall.forms[first], hall.forms[second]
            for short, long in zip(after.skill.directions(pair_id, *both), whole.directions(pair_id, *both), strict=True):
                assert abs(short.mixup_rate - long.mixup_rate) < 0.001


def test_a_pair_drilled_long_ago_is_met_all_the_same(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        count_weeks(db, hall, first=120, last=110)
        skill = skill_for_planning(db, hall.learner, set(hall.pairs), today=TODAY)
        assert skill.tallies == {}
        assert skill.met == frozenset(hall.pairs)
        assert not skill_for_planning(db, hall.stranger, set(hall.pairs), today=TODAY).met


def test_the_weeks_are_found_by_an_index(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        count_weeks(db, quick_hall, first=120, last=0)
        db.execute(text("ANALYZE"))
        plan = db.execute(text("EXPLAIN QUERY PLAN SELECT * FROM tally WHERE account_id = 1 AND week >= 203050")).all()
        assert "ix_tally_account_week (account_id=? AND week>?)" in " ".join(str(row) for row in plan)


def test_of_a_pair_rated_often_the_log_is_not_read(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        hall = quick_hall
        account = db.get_one(AccountRow, hall.learner)
        often, seldom = hall.pairs[:2]
        for pair_id, rounds in ((often, 40), (seldom, 2)):
            row = MemoryRow(account_id=hall.learner, pair_id=pair_id, stability_days=9.0, difficulty=5.0, last_day=TODAY, due_day=TODAY)
            row.rounds, row.held_running, row.last_outcome, row.recalled = rounds, rounds, "held", []
            db.add(row)
        db.flush()
        needs = the_needs(db, account, plan_for(db, account, today=TODAY), today=TODAY)
        assert {pair_id: needs[pair_id].rounds_begun for pair_id in (often, seldom)} == {often: 40, seldom: 0}
