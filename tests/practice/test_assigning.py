"""Assigning a pair set to a group: whom it reaches, from when until when, what it asks of the drill, and what is refused."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.core.values import Why
from drillhall.errors import AlreadyDone, Conflict, Invalid, NotFound
from drillhall.practice import assigning, planning
from drillhall.practice.assigning import Wanted, assign, end_assignment, list_assignments
from drillhall.practice.today import the_today
from drillhall.store.models.catalogue import CataloguePictureRow, PairSetRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

TODAY = NOON.date()
OUTING = TODAY + timedelta(days=21)


def a_group(db: Session, *people: int, kind: str = "club") -> int:
    """Make a group led by the first, in which the others learn."""
    group = GroupRow(public_id=f"group of {len(people)} led by {people[0]}", title="Sluice watchers", kind=kind, made_at=NOON)
    db.add(group)
    db.flush()
    for place, account_id in enumerate(people):
        role = "member" if place else {"club": "leader", "class": "teacher"}[kind]
        db.add(MembershipRow(group_id=group.id, account_id=account_id, role=role, since=NOON))
    db.flush()
    return group.id


def planned(db: Session, account_id: int, day: date = TODAY) -> planning.DrillPlan:
    return planning.plan_for(db, db.get_one(AccountRow, account_id), today=day)


@pytest.fixture
def made(store: Store) -> tuple[SmallHall, int]:
    """A hall in which nobody has taken anything, and a club that the stranger leads and the learner is in."""
    with store.work() as db:
        hall = make_small_hall(db, taken=False)
        return hall, a_group(db, hall.stranger, hall.learner)


def test_a_member_drills_what_is_assigned_at_once_and_whoever_leads_does_not(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        assert planned(db, hall.learner).rounds == ()
        assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        plan = planned(db, hall.learner)
        assert set(plan.pairs) == set(hall.pairs)
        assert set(plan.catalogues.values()) == {hall.catalogue}
        assert planned(db, hall.stranger).rounds == ()
        page = the_today(db, hall.learner, now=NOON)
        assert all(line.why_words.startswith("Your club has set these. ") for line in page.lines)
        assert [one.title for one in page.assigned] == ["First mudpipers"]
        packet = play(db, hall.learner, at=NOON)
        assert all(view.why_words.startswith("Your club has set these") for view in packet.rounds)


def test_it_reaches_nobody_before_its_first_day_nor_after_the_membership(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        assign(db, group, Wanted(hall.pair_set, TODAY + timedelta(days=2)), by=hall.stranger, today=TODAY, at=NOON)
        days = [TODAY + timedelta(days=number) for number in (1, 2)]
        assert [bool(planned(db, hall.learner, day).pairs) for day in days] == [False, True]
        db.execute(update(MembershipRow).where(MembershipRow.account_id == hall.learner).values(until=NOON))
        assert not planned(db, hall.learner, days[1]).pairs


def test_whoever_joins_late_gets_it_and_her_time_runs_from_then(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        assign(db, group, Wanted(hall.pair_set, TODAY, OUTING), by=hall.stranger, today=TODAY, at=NOON)
        late = AccountRow(name="Late", name_folded="late", passphrase_hash="none", zone="UTC", created_at=NOON)
        db.add(late)
        db.flush()
        joined = NOON + timedelta(days=5)
        db.add(MembershipRow(group_id=group, account_id=late.id, role="member", since=joined))
        db.flush()
        (outing,) = planned(db, late.id, joined.date()).assigned.outings
    assert (outing.since, outing.day) == (joined.date(), OUTING)


def test_an_archived_group_and_a_set_taken_back_ask_nothing(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        number = assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        db.get_one(GroupRow, group).retired_at = NOON
        db.flush()
        assert not planned(db, hall.learner).pairs
        db.get_one(GroupRow, group).retired_at = None
        end_assignment(db, group, number, at=NOON)
        db.flush()
        assert not planned(db, hall.learner).pairs
        assert list_assignments(db, group) == ()
        assert [one.ended_at for one in list_assignments(db, group, ended=True)] == [NOON]


def test_a_date_makes_its_pairs_due_and_a_higher_target_makes_them_due_sooner(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        assign(db, group, Wanted(hall.pair_set, TODAY, target_recall=0.97), by=hall.stranger, today=TODAY, at=NOON)
        play(db, hall.learner, at=NOON)
        kept = {row.pair_id: row.due_day for row in db.scalars(select(MemoryRow).where(MemoryRow.account_id == hall.learner))}
        plan = planned(db, hall.learner)
        assert kept
        assert all(plan.pairs[pair_id].due_day < day for pair_id, day in kept.items())  # type: ignore[operator]
        assert plan.assigned.raised_targets(own=0.9)[hall.pairs[0]] == 0.97
        end_assignment(db, group, list_assignments(db, group)[0].id, at=NOON)
        assign(db, group, Wanted(hall.pair_set, TODAY, OUTING, 0.80), by=hall.stranger, today=TODAY, at=NOON)
        plan = planned(db, hall.learner, TODAY + timedelta(days=1))
        assert plan.assigned.raised_targets(own=0.9) == {}
        assert {one.why for one in plan.rounds} & {Why.OUTING, Why.WEAK}
        assert not planned(db, hall.learner, OUTING + timedelta(days=1)).assigned.outings


def test_a_set_that_she_has_taken_too_is_drilled_once(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db)
        group = a_group(db, hall.stranger, hall.learner)
        assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        assert set(planned(db, hall.learner).pairs) == set(hall.pairs)


@pytest.mark.parametrize(
    ("wanted", "field", "sentence"),
    [
        ({"for_day": TODAY - timedelta(days=1)}, "for_day", "comes before the first day"),
        ({"from_day": TODAY - timedelta(days=9), "for_day": TODAY - timedelta(days=1)}, "for_day", "has passed"),
        ({"for_day": TODAY + timedelta(days=1000)}, "for_day", "two years ahead"),
        ({"from_day": TODAY + timedelta(days=1000)}, "from_day", "two years ahead"),
        ({"target_recall": 0.69}, "target_recall", "from 70 to 97"),
        ({"target_recall": 0.98}, "target_recall", "from 70 to 97"),
    ],
)
def test_odd_wishes_are_refused(
    store: Store, made: tuple[SmallHall, int], wanted: dict[str, date | float], field: str, sentence: str
) -> None:
    hall, group = made
    said = {"pair_set_id": hall.pair_set, "from_day": TODAY} | wanted
    with store.work() as db, pytest.raises(Invalid, match=sentence) as told:
        assign(db, group, Wanted(**said), by=hall.stranger, today=TODAY, at=NOON)  # type: ignore[arg-type]  # a table of wishes
    assert told.value.field == field
    with store.look() as db:
        assert list_assignments(db, group) == ()


def test_a_set_whose_pictures_were_withdrawn_is_refused(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        db.execute(update(CataloguePictureRow).values(retired_at=NOON))
        with pytest.raises(Conflict, match="Share pictures with the group first"):
            assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)


def test_twice_the_same_and_a_set_off_the_shelf_are_refused(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        with pytest.raises(AlreadyDone, match="already"):
            assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        db.get_one(PairSetRow, hall.pair_set).retired_at = NOON
        db.flush()
        with pytest.raises(NotFound):
            assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        assert not planned(db, hall.learner).pairs


def test_another_group_reaches_it_by_no_number(store: Store, made: tuple[SmallHall, int]) -> None:
    hall, group = made
    with store.work() as db:
        number = assign(db, group, Wanted(hall.pair_set, TODAY), by=hall.stranger, today=TODAY, at=NOON)
        other = a_group(db, hall.learner)
        with pytest.raises(NotFound):
            end_assignment(db, other, number, at=NOON)
        with pytest.raises(NotFound):
            assigning.the_assignment(db, other, number)
        assert list_assignments(db, group)
