"""What planning reads of a learner's counts: the years that weigh anything, however long she has drilled."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from datetime import date, timedelta
from random import Random

import pytest
from sqlalchemy import event, text
from sqlalchemy.orm import Session

from drillhall.core.confusion import Misses, directions, week_of
from drillhall.core.values import NEITHER, Rendition, TallyKey
from drillhall.practice.needs import the_needs
from drillhall.practice.planning import plan_for
from drillhall.practice.skill import skill_for_planning, the_skill
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow, TallyRow
from drillhall.store.session import Store
from tests.practice.rows import sum_tally
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
    sum_tally(db)


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
        assert len(five_years) == len(one_year)
        year, whole = after.skill, the_skill(db, hall.learner, today=TODAY)
        assert year.met == whole.met == before.skill.met == frozenset(hall.pairs)
        for pair_id, (first, second) in zip(hall.pairs, ((0, 1), (1, 2), (0, 3)), strict=True):
            both = hall.forms[first], hall.forms[second]
            for short, long in zip(year.directions(pair_id, *both), whole.directions(pair_id, *both), strict=True):
                assert short.mixup_rate == pytest.approx(long.mixup_rate, abs=1e-5)
                assert (short.shown, long.shown) == (62, 260)  # 10 weeks of 2031, and the 52 of 2030


@pytest.mark.parametrize("today", [date(2033, 1, 2), date(2033, 1, 3)])
def test_kept_sums_tell_what_the_counts_of_each_week_tell(store: Store, hall: SmallHall, today: date) -> None:
    """2032 has 53 weeks (ISO 8601: years that begin on a Thursday, leap ones on a Wednesday too), the last of them to 2 January 2033."""
    pair_id, forms, dice = hall.pairs[0], (hall.forms[0], hall.forms[1]), Random(3)
    told: dict[TallyKey, int] = {}
    for ago in range(160):
        week = week_of(today - timedelta(weeks=ago))
        for said in (*forms, NEITHER):
            for choices, rendition, fresh in ((2, Rendition.AS_TAKEN, True), (3, Rendition.AS_TAKEN, False), (2, Rendition.FAR_OFF, True)):
                told[TallyKey(dice.choice(forms), said, week, fresh, False, rendition, "left", choices)] = dice.randrange(1, 9)
    with store.work() as db:
        for key, count in told.items():
            db.add(TallyRow(account_id=hall.learner, pair_id=pair_id, count=count, **(asdict(key) | {"rendition": key.rendition.value})))
        sum_tally(db)
        lately, whole = skill_for_planning(db, hall.learner, set(), today=today), the_skill(db, hall.learner, today=today)
    now = week_of(today)
    of_two_years = {key: count for key, count in told.items() if key.week // 100 >= now // 100 - 1}
    plain = [(key, count) for key, count in of_two_years.items() if key.choices == 2 and key.rendition is Rendition.AS_TAKEN]
    missed = sum(count for key, count in plain if key.said_form_id != key.shown_form_id)
    assert lately.expected.own == whole.expected.own == Misses(missed, sum(count for _, count in plain))
    for skill, tally in ((lately, of_two_years), (whole, told)):
        prior = {form_id: skill.expected.of(skill.hall.get((pair_id, form_id))) for form_id in forms}
        for one, counted in zip(skill.directions(pair_id, *forms), directions(forms, tally, week_now=now, prior=prior), strict=True):
            assert (one.right, one.shown) == (counted.right, counted.shown)
            assert (one.fresh_right, one.fresh_shown) == (counted.fresh_right, counted.fresh_shown)
            assert one.mixup_rate == pytest.approx(counted.mixup_rate, rel=1e-8)
            assert skill.rate(pair_id, one.shown_form_id) == one.mixup_rate


def test_a_pair_drilled_long_ago_is_met_all_the_same(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        count_weeks(db, hall, first=120, last=110)
        skill = skill_for_planning(db, hall.learner, set(hall.pairs), today=TODAY)
        assert (skill.right, skill.wrong) == ({}, {})
        assert skill.met == frozenset(hall.pairs)
        assert not skill_for_planning(db, hall.stranger, set(hall.pairs), today=TODAY).met


def test_the_latest_years_are_found_by_the_key(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        count_weeks(db, quick_hall, first=120, last=0)
        db.execute(text("ANALYZE"))
        with counted(db) as sent:
            skill_for_planning(db, quick_hall.learner, set(), today=TODAY)
        (statement,) = [one for one in sent if "FROM tally_year" in one]
        plan = " ".join(str(row) for row in db.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", (1, 2030)).all())
        assert "USING PRIMARY KEY (account_id=? AND year>?)" in plan
        assert "TEMP B-TREE" not in plan


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
