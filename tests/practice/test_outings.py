"""Outings: planned, changed and called off; an assignment without a day gets it; and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import update

from drillhall.core.values import Why
from drillhall.errors import Invalid, NotFound
from drillhall.practice import planning
from drillhall.practice.assigning import Wanted, assign, the_assignment
from drillhall.practice.outings import OutingSaid, call_off, change_outing, list_outings, plan_outing, the_outing
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall, make_small_hall
from tests.practice.test_assigning import OUTING, TODAY, a_group

LATER = NOON + timedelta(hours=2)


@pytest.fixture
def made(sqlite_store: Store) -> tuple[SmallHall, int]:
    with sqlite_store.work() as db:
        hall = make_small_hall(db, taken=False)
        return hall, a_group(db, hall.stranger, hall.learner)


def test_an_outing_gives_its_assignment_a_day_where_it_had_none(sqlite_store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with sqlite_store.work() as db:
        number = assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        for day in (OUTING, OUTING + timedelta(days=7)):
            plan_outing(db, group, OutingSaid("Out", day, assignment_id=number), by=hall.stranger, today=TODAY, at=NOON)
        assert the_assignment(db, group, number).for_day == OUTING
        assert [(one.day, one.set_title) for one in list_outings(db, group)] == [
            (OUTING, "First mudpipers"),
            (OUTING + timedelta(days=7), "First mudpipers"),
        ]


def test_a_day_out_makes_its_pairs_due_and_claims_a_larger_share(sqlite_store: Store) -> None:
    """She has taken the set herself; the group assigns nothing, and goes out for it."""
    with sqlite_store.work() as db:
        hall = make_small_hall(db)
        group = a_group(db, hall.stranger, hall.learner)
        play(db, hall.learner, at=NOON)
        day = TODAY + timedelta(days=1)
        calm = {planned.why for planned in planning.plan_for(db, db.get_one(AccountRow, hall.learner), today=day).rounds}
        number = plan_outing(db, group, OutingSaid("Quay", OUTING, pair_set_id=hall.pair_set), by=hall.stranger, today=TODAY, at=NOON)
        plan = planning.plan_for(db, db.get_one(AccountRow, hall.learner), today=day)
        (outing,) = plan.assigned.outings
        assert (outing.day, outing.since, outing.pair_ids) == (OUTING, TODAY, frozenset(hall.pairs))
        assert Why.OUTING in {planned.why for planned in plan.rounds} - calm
        call_off(db, group, number, at=NOON)
        assert not planning.plan_for(db, db.get_one(AccountRow, hall.learner), today=day).assigned.outings
        plan_outing(db, group, OutingSaid("Quay", OUTING, pair_set_id=hall.pair_set), by=hall.stranger, today=TODAY, at=NOON)
        assert planning.plan_for(db, db.get_one(AccountRow, hall.learner), today=day).assigned.outings
        db.execute(update(MembershipRow).where(MembershipRow.account_id == hall.learner).values(until=LATER))
        left = planning.plan_for(db, db.get_one(AccountRow, hall.learner), today=day)
        assert (left.assigned.outings, Why.OUTING in {planned.why for planned in left.rounds}) == ((), False)


def test_a_change_is_counted_and_what_is_off_can_take_place_again(sqlite_store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with sqlite_store.work() as db:
        said = OutingSaid("  Spring   tide ", OUTING, "The old quay", pair_set_id=hall.pair_set)
        number = plan_outing(db, group, said, by=hall.stranger, today=TODAY, at=NOON)
        assert the_outing(db, group, number).title == "Spring tide"
        call_off(db, group, number, at=LATER)
        call_off(db, group, number, at=LATER + timedelta(hours=1))
        off = the_outing(db, group, number)
        assert (off.off_at, off.changes, off.changed_at) == (LATER, 1, LATER)
        change_outing(db, group, number, replace(said, place="The new quay"), today=TODAY, at=LATER)
        again = the_outing(db, group, number)
        assert (again.off_at, again.changes, again.place) == (None, 2, "The new quay")


@pytest.mark.parametrize(
    ("title", "day", "purpose", "field"),
    [
        (" ", OUTING, "set", "title"),
        ("x" * 121, OUTING, "set", "title"),
        ("Out", TODAY - timedelta(days=1), "set", "day"),
        ("Out", TODAY + timedelta(days=900), "set", "day"),
        ("Out", OUTING, "", "purpose"),
    ],
)
def test_odd_outings_are_refused(sqlite_store: Store, made: tuple[SmallHall, int], title: str, day: date, purpose: str, field: str) -> None:
    hall, group = made
    said = OutingSaid(title, day, pair_set_id=hall.pair_set if purpose else None)
    with sqlite_store.work() as db, pytest.raises(Invalid) as told:
        plan_outing(db, group, said, by=hall.stranger, today=TODAY, at=NOON)
    assert told.value.field == field


def test_another_groups_assignment_and_outing_are_not_there(sqlite_store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with sqlite_store.work() as db:
        other = a_group(db, hall.learner)
        number = assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        said = OutingSaid("Out", OUTING, assignment_id=number)
        with pytest.raises(NotFound):
            plan_outing(db, other, said, by=hall.learner, today=TODAY, at=NOON)
        with pytest.raises(NotFound):
            plan_outing(db, group, OutingSaid("Out", OUTING, pair_set_id=99), by=hall.learner, today=TODAY, at=NOON)
        outing = plan_outing(db, group, said, by=hall.stranger, today=TODAY, at=NOON)
        with pytest.raises(NotFound):
            call_off(db, other, outing, at=NOON)
        with pytest.raises(NotFound):
            the_outing(db, other, outing)
