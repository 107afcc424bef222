"""Two views compared tell of five or of nobody: over time, between filters, as another, and when somebody joins, agrees or leaves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta
from itertools import pairwise

import pytest
from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from drillhall.core.confusion import Failing, span_of, week_of
from drillhall.practice.weak_spots import prompting
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import TallyRow
from drillhall.store.session import Store
from tests.practice.weak_spots.classes import BEGAN, SmallClass, keep, make_class
from tests.practice.weak_spots.test_seeing import agree, some, told

SPAN = timedelta(weeks=4)
DAYS = [BEGAN + timedelta(days=number) for number in range(1, 60)]
FIRST = next(day for day in DAYS if span_of(week_of(day.date())) > span_of(week_of(BEGAN.date())))
"""The evening of the first day of four weeks, after everybody joined."""


def answers_on(db: Session, made: SmallClass, role: str, day: date, chosen: Chosen | None = None) -> int:
    return told(db, made, role, chosen, today=day).answers


def test_the_weeks_are_the_same_for_everybody() -> None:
    days = [date(2026, 12, 1) + timedelta(days=number) for number in range(70)]
    spans = [span_of(week_of(day)) for day in days]
    starts = [later for (_, one), (later, other) in pairwise(zip(days, spans, strict=True)) if other > one]
    assert [(one.weekday(), (two - one).days) for one, two in pairwise(starts)] == [(0, 28)] * 2, "across the turn of a year of 53 weeks"
    with pytest.raises(ValueError, match="week"):
        span_of(202654)


def test_nothing_is_told_of_weeks_that_are_not_over(store: Store) -> None:
    """Whoever looks before and after one of five has drilled sees no difference; until two days after the end they are waited for."""
    with store.work() as db:
        made = make_class(db, forms=5, learners=5, kind="club")
        keep(db, some(made, made.learners, at=FIRST))
        days = [FIRST.date() + timedelta(days=number) for number in (0, 13, 27, 28, 29, 30, 60)]
        assert [answers_on(db, made, "leader", day) for day in days] == [0, 0, 0, 0, 0, 25, 25]


def test_each_view_differs_from_the_next_by_five_at_least(sqlite_store: Store) -> None:
    """Of three lots of four weeks, five answered in the first, one in the second and six in the third: the one is never told."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        keep(db, some(made, made.learners[:5], at=FIRST))
        keep(db, some(made, made.learners[:1], at=FIRST + SPAN))
        keep(db, some(made, made.learners, at=FIRST + 2 * SPAN))
        seen = [answers_on(db, made, "leader", FIRST.date() + timedelta(days=number)) for number in range(0, 120, 6)]
    assert sorted({later - early for early, later in pairwise(seen)}) == [0, 25, 30]


def test_filters_choose_among_the_same_sums(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        keep(db, some(made, made.learners[:5]) + some(made, made.learners, way=1) + some(made, made.learners[:4], at=BEGAN + 2 * SPAN))
        every = told(db, made, "leader").cells
        for chosen in (Chosen(stage=0), Chosen(life_stage="adult"), Chosen(life_stage="juvenile"), Chosen(sex="female")):
            found = told(db, made, "leader", chosen).cells
            assert all(found[cell] == every[cell] for cell in found)
        ages = [told(db, made, "leader", Chosen(life_stage=age)).answers for age in ("adult", "juvenile")]
        assert sum(ages) == told(db, made, "leader").answers == 55


@pytest.mark.parametrize("how", ["leaves", "is closed", "leads"])
def test_what_somebody_answered_who_left_falls_with_the_sum(sqlite_store: Store, how: str) -> None:
    """The sum before less the sum after would be hers, so it falls as a whole; other weeks, and what she does elsewhere, stay."""
    left = FIRST + timedelta(weeks=5)
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=7, kind="club")
        keep(db, some(made, made.learners, at=FIRST))
        keep(db, some(made, made.learners[1:], at=FIRST + SPAN))
        keep(db, some(made, made.learners[:1], at=left + SPAN) + some(made, made.learners[1:], at=left + SPAN))
        day = (left + 2 * SPAN).date()
        before = answers_on(db, made, "leader", day)
        hers = MembershipRow.account_id == made.learners[0]
        if how == "is closed":
            db.execute(update(AccountRow).where(AccountRow.id == made.learners[0]).values(retired_at=left))
        else:
            db.execute(update(MembershipRow).where(hers).values(until=left))
        if how == "leads":
            db.add(MembershipRow(group_id=made.group, account_id=made.learners[0], role="leader", since=left))
        after = answers_on(db, made, "leader", day)
    assert (before, after) == (7 * 5 + 6 * 5 + 7 * 5, 6 * 5 + 6 * 5)


def test_whoever_agrees_is_told_by_name_and_changes_the_sum_by_her_own_alone(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        keep(db, some(made, made.learners))
        views: list[tuple[int, Mapping[str, int]]] = []
        for account in (None, made.learners[0], made.learners[1]):
            agree(db, *([account] if account else []))
            page = told(db, made, "leader")
            views.append((page.answers, {one.pupil.name: one.shown for one in page.learners}))
    # With the second, four are left of whom nothing is told.
    assert views == [(30, {}), (30, {"P0": 5}), (10, {"P0": 5, "P1": 5})]


def test_a_members_sum_less_those_seen_by_name_still_has_five(sqlite_store: Store) -> None:
    """Of seven, three agreed: the sum of all, which a member sees, less the three whom the leader sees would be that of four."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=8, kind="club")
        agree(db, *made.learners[:3])
        keep(db, some(made, made.learners[:7]))
        assert (answers_on(db, made, "member", date(2031, 3, 1)), answers_on(db, made, "leader", date(2031, 3, 1))) == (0, 15)
        keep(db, some(made, made.learners[7:]))
        assert (answers_on(db, made, "member", date(2031, 3, 1)), answers_on(db, made, "leader", date(2031, 3, 1))) == (40, 40)


def test_whoever_joins_changes_no_sum_that_was_told(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        keep(db, some(made, made.learners, at=FIRST))
        joined = MembershipRow.account_id == made.learners[5]
        day = (FIRST + SPAN + timedelta(days=3)).date()
        db.execute(delete(MembershipRow).where(joined))
        before = answers_on(db, made, "leader", day)
        db.add(MembershipRow(group_id=made.group, account_id=made.learners[5], role="member", since=FIRST + SPAN))
        db.flush()
        assert before == answers_on(db, made, "leader", day) == 25


def test_traits_asked_for_are_told_by_the_same_weeks(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        keep(db, some(made, made.learners, at=FIRST, prompt_right=False))
        keep(db, some(made, made.learners[:2], at=FIRST + SPAN, prompt_right=False))
        pair, both = next(iter(made.pairs)), {}
        for number, day in enumerate((FIRST, FIRST + SPAN, FIRST + 3 * SPAN)):
            page = told(db, made, "leader", today=(day + timedelta(days=3)).date())
            both[number] = page.behind[pair].prompted.asked if page.behind else 0
        assert both == {0: 0, 1: 30, 2: 30}
        monkeypatch.setattr(prompting, "MOST_PROMPTS", 70)
        late = told(db, made, "leader", today=(FIRST + 3 * SPAN).date())
        assert (late.behind[pair].prompted.asked, late.behind[pair].fails) == (0, Failing.TOO_FEW), "not all of the first weeks was read"


def test_in_a_club_of_one_not_named_nothing_is_ever_told_of_her(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=9, kind="club")
        agree(db, *made.learners[:8])
        keep(db, some(made, made.learners))
        hers = db.scalar(select(func.sum(TallyRow.count)).where(TallyRow.account_id == made.learners[8]))
        page = told(db, made, "leader", today=date(2031, 6, 1))
        assert (hers, page.answers, page.others_told) == (5, 40, False)
        by_pair: dict[int, int] = defaultdict(int)
        for lesson in page.lessons:
            by_pair[lesson.pair.id] += lesson.met
        assert set(by_pair.values()) == {8}
        assert answers_on(db, made, "member", date(2031, 6, 1)) == 0
