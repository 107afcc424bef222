"""Planning a season on both engines: lessons that give a pair set, weeks in words, what overlaps, and repeating a year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import event, update

from drillhall.core.weeks import Week
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.practice import seasons
from drillhall.practice.assigning import end_assignment, list_assignments
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.practice.seasons import HERE, HOLIDAY, LESSON, Entry, EntrySaid
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall

TODAY = date(2031, 3, 3)  # a Monday, of week 10


def week(number: int, year: int = 2031) -> Week:
    return Week(year, number)


def said(kind: str, first: int, last: int | None = None, words: str = "words", **more: object) -> EntrySaid:
    return EntrySaid(kind, week(first), week(last or first), words, **more)  # type: ignore[arg-type]  # ids alone


def group_in(store: Store, public_id: str = "g") -> int:
    with store.work() as db:
        row = GroupRow(public_id=public_id, title="Club", kind="club", is_paid=False, made_at=NOON)
        db.add(row)
        db.flush()
        return row.id


class Plan:
    """A group's season in a store."""

    def __init__(self, store: Store, group_id: int, hall: SmallHall) -> None:
        self.store, self.group_id, self.hall = store, group_id, hall

    def put(self, one: EntrySaid, *, group_id: int | None = None) -> int:
        with self.store.work() as db:
            return seasons.plan_entry(db, group_id or self.group_id, one, by=self.hall.learner, today=TODAY, at=NOON)

    def change(self, entry: int, first: int, last: int, words: str = "words") -> None:
        with self.store.work() as db:
            seasons.change_entry(db, self.group_id, entry, first=week(first), last=week(last), words=words, at=NOON)

    def repeat(self, year: int) -> tuple[int, int]:
        with self.store.work() as db:
            return seasons.repeat_year(db, self.group_id, year, by=self.hall.learner, today=TODAY, at=NOON)

    @property
    def entries(self) -> tuple[Entry, ...]:
        with self.store.look() as db:
            return seasons.list_entries(db, self.group_id)


@pytest.fixture
def plan(store: Store, hall: SmallHall) -> Plan:
    return Plan(store, group_in(store), hall)


@pytest.fixture
def quick_plan(sqlite_store: Store, quick_hall: SmallHall) -> Plan:
    return Plan(sqlite_store, group_in(sqlite_store), quick_hall)


def test_a_lesson_gives_the_group_its_pair_set_from_its_monday_on(plan: Plan) -> None:
    plan.put(said(LESSON, 12, 14, "Bills first", pair_set_id=plan.hall.pair_set))
    (entry,) = plan.entries
    assert entry.says == "First mudpipers: Bills first"
    assert entry.when == "weeks 12 to 14 of 2031"
    with plan.store.look() as db:
        (given,) = list_assignments(db, plan.group_id)
    assert (given.id, given.from_day) == (entry.assignment_id, date(2031, 3, 17))


def test_two_lessons_in_one_week_are_refused_and_both_named(plan: Plan) -> None:
    plan.put(said(LESSON, 10, 12, pair_set_id=plan.hall.pair_set, words=""))
    with pytest.raises(Invalid, match="“Late stints” would lie over “First mudpipers”, weeks 10 to 12 of 2031") as wrong:
        plan.put(said(LESSON, 12, 13, "Late stints"))
    assert wrong.value.field == "first_week"
    plan.put(said(LESSON, 13, 13, "Late stints"))
    assert len(plan.entries) == 2


def test_a_set_that_is_refused_leaves_no_lesson_behind(plan: Plan) -> None:
    plan.put(said(LESSON, 10, pair_set_id=plan.hall.pair_set))
    with pytest.raises(Conflict, match="has this pair set already"):
        plan.put(said(LESSON, 20, pair_set_id=plan.hall.pair_set))
    with pytest.raises(NotFound):
        plan.put(said(LESSON, 20, pair_set_id=999))
    assert len(plan.entries) == 1


def test_moving_a_lesson_onto_another_is_refused_and_onto_itself_is_not(quick_plan: Plan) -> None:
    first = quick_plan.put(said(LESSON, 10, 12, "Bills"))
    quick_plan.put(said(LESSON, 14, 15, "Legs"))
    with pytest.raises(Invalid, match="“Bills” would lie over “Legs”"):
        quick_plan.change(first, 11, 14, "Bills")
    quick_plan.change(first, 11, 13, "Bills again")
    moved = quick_plan.entries[0]
    assert (moved.first, moved.last, moved.words, moved.changes) == (week(11), week(13), "Bills again", 1)


def test_holidays_and_what_is_here_may_lie_over_everything(quick_plan: Plan) -> None:
    for kind in (LESSON, HOLIDAY, HERE, HERE):
        quick_plan.put(said(kind, 10, 12))
    assert len(quick_plan.entries) == 4


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (said(LESSON, 12, 10), "last_week"),
        (replace(said(LESSON, 1), last=week(20, 2032)), "last_week"),
        (said(HOLIDAY, 12, words=" \n "), "words"),
        (said(HERE, 12, words="x" * 201), "words"),
        (said("party", 12), "kind"),
        (said(HOLIDAY, 12, pair_set_id=1), "purpose"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(quick_plan: Plan, wrong: EntrySaid, field: str) -> None:
    with pytest.raises(Invalid) as refused:
        quick_plan.put(wrong)
    assert refused.value.field == field
    assert quick_plan.entries == ()


def test_another_groups_entry_and_assignment_are_not_there(quick_plan: Plan) -> None:
    entry = quick_plan.put(said(LESSON, 12, pair_set_id=quick_plan.hall.pair_set))
    other = group_in(quick_plan.store, "h")
    assignment = quick_plan.entries[0].assignment_id
    with pytest.raises(NotFound):
        quick_plan.put(said(LESSON, 12, assignment_id=assignment), group_id=other)
    with quick_plan.store.look() as db, pytest.raises(NotFound):
        seasons.the_entry(db, other, entry)


def test_a_year_is_told_week_by_week_and_bare_weeks_together(quick_plan: Plan) -> None:
    quick_plan.put(said(LESSON, 10, 11, "Bills"))
    quick_plan.put(said(HERE, 11, 12, "Young stints"))
    with quick_plan.store.look() as db:
        season = seasons.the_season(db, quick_plan.group_id, 2031)
    assert [(span.first.number, span.last.number, span.is_bare) for span in season.spans] == [
        (1, 9, True),
        (10, 10, False),
        (11, 11, False),
        (12, 12, False),
        (13, 52, True),
    ]
    assert [len(span.here) for span in season.spans] == [0, 0, 1, 1, 0]


def test_weeks_that_hold_the_same_are_told_together_but_not_over_an_outing(quick_plan: Plan) -> None:
    quick_plan.put(said(HERE, 10, 20, "Young stints"))
    with quick_plan.store.work() as db:
        out = OutingSaid("Out", week(15).first_day, pair_set_id=quick_plan.hall.pair_set)
        plan_outing(db, quick_plan.group_id, out, by=quick_plan.hall.learner, today=TODAY, at=NOON)
        season = seasons.the_season(db, quick_plan.group_id, 2031)
    assert [(span.first.number, span.last.number) for span in season.spans] == [(1, 9), (10, 14), (15, 15), (16, 20), (21, 52)]


def test_an_entry_over_the_turn_of_the_year_stands_in_both(quick_plan: Plan) -> None:
    quick_plan.put(replace(said(HERE, 51), last=week(2, 2032)))
    with quick_plan.store.look() as db:
        later = seasons.the_season(db, quick_plan.group_id, 2032)
    assert [(span.first.number, span.last.number) for span in later.spans if span.here] == [(1, 2)]
    assert quick_plan.entries[0].when == "week 51 of 2031 to week 2 of 2032"


def test_a_year_is_repeated_into_the_same_weeks_once(plan: Plan) -> None:
    plan.put(said(LESSON, 12, 13, "", pair_set_id=plan.hall.pair_set))
    plan.put(said(HOLIDAY, 16, words="Spring holiday"))
    plan.put(replace(said(HERE, 51), last=week(2, 2032), words="Winter birds"))
    assert plan.repeat(2032) == (3, 0)
    assert [(one.kind, str(one.first), str(one.last)) for one in plan.entries[3:]] == [
        ("lesson", "2032-W12", "2032-W13"),
        ("holiday", "2032-W16", "2032-W16"),
        ("here", "2032-W51", "2033-W02"),
    ]
    assert plan.repeat(2032) == (0, 0)
    assert plan.entries[3].assignment_id == plan.entries[0].assignment_id, "what the group has still is not given twice"


def test_repeating_leaves_out_lessons_whose_weeks_are_taken_and_says_how_many(quick_plan: Plan) -> None:
    quick_plan.put(said(LESSON, 12, 13, "Bills"))
    with quick_plan.store.work() as db:
        seasons.plan_entry(db, quick_plan.group_id, EntrySaid(LESSON, week(13, 2032), week(13, 2032), "Legs"), by=1, today=TODAY, at=NOON)
    assert quick_plan.repeat(2032) == (0, 1)


@pytest.mark.parametrize("gone", ["ended", "withdrawn"])
def test_repeating_gives_an_ended_set_anew_and_of_a_withdrawn_one_the_title(quick_plan: Plan, gone: str) -> None:
    quick_plan.put(said(LESSON, 12, words="", pair_set_id=quick_plan.hall.pair_set))
    with quick_plan.store.work() as db:
        end_assignment(db, quick_plan.group_id, quick_plan.entries[0].assignment_id or 0, at=NOON)
        if gone == "withdrawn":
            db.execute(update(PairSetRow).values(retired_at=NOON))
    assert quick_plan.repeat(2032) == (1, 0)
    again = quick_plan.entries[1]
    assert again.says == "First mudpipers"
    assert (again.assignment_id is None) is (gone == "withdrawn")


def test_repeating_into_a_year_too_far_to_give_a_set_leaves_its_title(quick_plan: Plan) -> None:
    quick_plan.put(EntrySaid(LESSON, week(8, 2033), week(8, 2033), "", pair_set_id=quick_plan.hall.pair_set))
    with quick_plan.store.work() as db:
        end_assignment(db, quick_plan.group_id, quick_plan.entries[0].assignment_id or 0, at=NOON)
    assert quick_plan.repeat(2034) == (1, 0)
    again = quick_plan.entries[1]
    assert (again.says, again.assignment_id, str(again.first)) == ("First mudpipers", None, "2034-W08")


def test_what_is_taken_out_is_gone_and_what_was_given_stays(quick_plan: Plan) -> None:
    entry = quick_plan.put(said(LESSON, 12, pair_set_id=quick_plan.hall.pair_set))
    with quick_plan.store.work() as db:
        seasons.take_out(db, quick_plan.group_id, entry, at=NOON)
        assert len(list_assignments(db, quick_plan.group_id)) == 1
    assert quick_plan.entries == ()
    with quick_plan.store.work() as db, pytest.raises(NotFound):
        seasons.take_out(db, quick_plan.group_id, entry, at=NOON)


def test_a_year_costs_the_same_number_of_queries_however_full(quick_plan: Plan) -> None:
    def count() -> int:
        seen: list[str] = []
        engine = quick_plan.store._reader
        event.listen(engine, "before_cursor_execute", lambda *told: seen.append(told[2]))
        with quick_plan.store.look() as db:
            seasons.the_season(db, quick_plan.group_id, 2031)
        return len(seen)

    few = count()
    for number in range(1, 30):
        quick_plan.put(said(HERE, number))
    assert count() == few
