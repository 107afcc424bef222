"""Who is told what of whom: by name, in sums of five or more, or not at all; and only what was answered in the group, for the group."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.pupil import the_pupil_spots
from drillhall.practice.weak_spots.report import WeakSpots, the_weak_spots
from drillhall.practice.weak_spots.seeing import the_own, the_pupil, who_is_seen, who_sees
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.session import Store
from tests.practice.weak_spots.classes import BEGAN, TODAY, Said, SmallClass, keep, make_class

LATER = BEGAN + timedelta(days=3)


def some(
    made: SmallClass, accounts: Iterable[int], *, missed: int = 3, right: int = 2, at: datetime = LATER, way: int = 0, **more: object
) -> list[Said]:
    """Answers of each about one pair, the same form shown every time."""
    pair, forms = next(iter(made.pairs.items()))
    shown, other = forms[way], forms[1 - way]
    return [
        Said(account, pair, shown, other if number < missed else shown, at, **more)  # type: ignore[arg-type]
        for account in accounts
        for number in range(missed + right)
    ]


def agree(db: Session, *accounts: int) -> None:
    db.execute(update(MembershipRow).where(MembershipRow.account_id.in_(accounts)).values(lets_leader_see=True))


def told(db: Session, made: SmallClass, role: str, chosen: Chosen | None = None, *, today: date = TODAY) -> WeakSpots:
    return the_weak_spots(db, made.group, role, chosen or Chosen(), today=today)


def test_a_leader_is_told_of_those_who_agreed_and_of_five_others_together(store: Store) -> None:
    with store.work() as db:
        made = make_class(db, forms=5, learners=7, kind="club")
        agree(db, *made.learners[:2])
        keep(db, some(made, made.learners))
        page = told(db, made, "leader")
    assert (page.named, page.others, page.others_told, page.answers) == (2, 5, True, 35)
    assert [one.pupil.name for one in page.learners] == ["P0", "P1"]
    assert page.weeks == (), "weeks would tell the others' apart"
    assert all(set(one.names) <= {"P0", "P1"} for one in page.lessons)


def test_a_sum_less_those_shown_by_name_still_has_five(store: Store) -> None:
    """Of four others nothing is told, however many are seen by name: the sum less theirs would be four."""
    with store.work() as db:
        made = make_class(db, forms=5, learners=7, kind="club")
        agree(db, *made.learners[:3])
        keep(db, some(made, made.learners))
        page = told(db, made, "leader")
    assert (page.others, page.others_told, page.answers) == (4, False, 15)


def test_the_threshold_holds_for_every_form_of_every_pair(sqlite_store: Store) -> None:
    """Five others have answered on the pair, but one form of it was shown to one of them alone."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=5, kind="club")
        keep(db, some(made, made.learners) + some(made, made.learners[:1], way=1))
        page = told(db, made, "leader")
    first, second = next(iter(made.pairs.values()))
    assert [(one.direction.form_id, one.direction.shown) for one in page.spots] == [(first, 25)]
    assert page.answers == 25
    assert (second, first) not in page.cells


def test_where_answers_are_told_apart_nothing_is_told_of_the_others(sqlite_store: Store) -> None:
    """Left-facing pictures of all less those of all but one would be that one's."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=6, kind="club")
        agree(db, made.learners[0])
        keep(db, some(made, made.learners) + some(made, made.learners[1:2], orientation="right"))
        for chosen in (Chosen(orientation="left"), Chosen(fresh=True), Chosen(rendition="as taken"), Chosen(pose="wading")):
            page = told(db, made, "leader", chosen)
            assert page.answers == sum(one.shown for one in page.learners) <= 5
            assert not page.others_told


def test_a_member_is_told_sums_from_five_on_and_no_name(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=5)
        agree(db, *made.learners)
        keep(db, some(made, made.learners[:4]))
        assert told(db, made, "member").answers == 0
        keep(db, some(made, made.learners[4:]))
        page = told(db, made, "member")
    assert (page.named, page.others, page.answers, page.learners) == (0, 5, 25, ())
    assert all(not one.names for one in page.lessons)


def test_a_teacher_sees_the_class_and_nobody_of_another(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=2)
        other = GroupRow(public_id="other", title="Form Ten", kind="class", made_at=BEGAN)
        db.add(other)
        db.flush()
        db.add(MembershipRow(group_id=other.id, account_id=made.learners[1], role="member", since=BEGAN))
        db.execute(
            update(MembershipRow)
            .where(MembershipRow.group_id == made.group, MembershipRow.account_id == made.learners[1])
            .values(until=LATER)
        )
        keep(db, some(made, made.learners))
        page = told(db, made, "teacher")
        assert ([one.pupil.name for one in page.learners], page.answers) == (["P0"], 5)
        assert the_weak_spots(db, other.id, "teacher", Chosen(), today=TODAY).answers == 0, "nothing is given to it"
        theirs = db.scalars(select(MembershipRow.id).where(MembershipRow.group_id == other.id)).one()
        for number in (theirs, 999):
            with pytest.raises(NotFound):
                the_pupil(db, made.group, "teacher", number)


def test_by_name_a_leader_sees_those_alone_who_agreed(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=2, kind="club")
        agree(db, made.learners[0])
        seen = who_is_seen(db, made.group, "leader")
        assert the_pupil(db, made.group, "leader", seen.named[0].id).name == "P0"
        with pytest.raises(NotFound):
            the_pupil(db, made.group, "leader", seen.others[0].id)
        own = [the_own(db, made.group, account) for account in made.learners]
        assert [who_sees(db, made.group, "club", one) for one in own] == ["by name", "in sum"]
        assert [who_sees(db, made.group, "class", one) for one in own] == ["by name", "by name"]
        with pytest.raises(NotFound):
            the_own(db, made.group, 999)


def test_what_was_answered_before_joining_is_not_told(store: Store) -> None:
    """Two learners brought answers along: their cells are folded again, and the sums are as if they had begun on joining."""
    joined = LATER + timedelta(days=1)
    with store.work() as db:
        made = make_class(db, forms=5, learners=2, joined=joined)
        keep(db, some(made, made.learners, missed=4, right=0) + some(made, made.learners, at=joined + timedelta(days=1), three=True))
        page = told(db, made, "teacher")
        pupil = the_pupil_spots(db, made.group, the_own(db, made.group, made.learners[0]), today=TODAY)
    spot = page.spots[0].direction
    assert (spot.missed, spot.called, spot.shown, spot.fresh, spot.by) == (6, 6, 10, 0, 2)
    assert [(one.missed, one.shown) for one in page.learners] == [(3, 5), (3, 5)]
    assert (pupil.answers, sum(week.shown for week in pupil.weeks)) == (5, 5)


def test_of_a_round_begun_before_she_came_again_nothing_is_told(sqlite_store: Store) -> None:
    """She was in the class, left it, and came again between the third and the fourth of five answers."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1, joined=LATER + timedelta(seconds=25))
        (one,) = made.learners
        db.add(MembershipRow(group_id=made.group, account_id=one, role="member", since=BEGAN, until=LATER + timedelta(seconds=20)))
        keep(db, some(made, made.learners, way=1))
        assert told(db, made, "teacher").answers == 0
        assert told(db, made, "teacher", Chosen(pose="wading")).answers == 2, "where answers are read one by one, those since then are told"


def test_a_pair_that_is_given_no_more_is_not_told(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        keep(db, some(made, made.learners))
        assert told(db, made, "teacher").answers == 5
        db.execute(update(AssignmentRow).values(retired_at=LATER))
        page = told(db, made, "teacher")
        assert (page.answers, page.has_pairs, page.spots, page.lessons) == (0, False, (), ())
        with pytest.raises(NotFound, match="assignment"):
            told(db, made, "teacher", Chosen(assignment_id=1))


def test_a_pupil_sees_the_very_page_that_is_seen_of_her(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=2)
        keep(db, some(made, made.learners))
        own = the_own(db, made.group, made.learners[0])
        seen = the_pupil(db, made.group, "teacher", own.id)
        assert the_pupil_spots(db, made.group, own, today=TODAY) == the_pupil_spots(db, made.group, seen, today=TODAY)
