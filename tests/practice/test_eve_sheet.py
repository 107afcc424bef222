"""The eve sheet: it names the pairs that the answers say, of five or more, and prints nothing that may not be handed on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.practice.eve_sheet import EveSheet, the_eve_sheet
from drillhall.practice.outings import OutingSaid, plan_outing, the_outing
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.session import Store
from tests.practice.playing import Knows, play
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_assigning import OUTING, TODAY
from tests.practice.test_readiness import given


def weak_at(hall: SmallHall, place: int) -> Knows:
    """Miss one pair whenever its second form is shown."""
    weak, form = hall.pairs[place], str(max(hall.forms[:2]) if place == 0 else hall.forms[3])
    return lambda view, question: question.kind != "form" or view.pair.id != weak or question.key != form


def eve(db: Session, group: int, number: int, *, drilled: list[int], knows: Callable[[int], Knows] | Knows) -> EveSheet:
    for account_id in drilled:
        for day in (1, 3):
            play(db, account_id, at=NOON + timedelta(days=day), knows=knows)  # type: ignore[arg-type]
    said = OutingSaid("Spring tide", OUTING, "The old quay", assignment_id=number)
    outing = plan_outing(db, group, said, by=drilled[0], today=TODAY, at=NOON)
    return the_eve_sheet(db, group, "club", the_outing(db, group, outing), today=OUTING - timedelta(days=1))


def test_it_names_the_pair_that_the_answers_say_and_the_way_round(store: Store) -> None:
    with store.work() as db:
        hall, group, number, learners = given(db, 5)
        sheet = eve(db, group, number, drilled=learners, knows=weak_at(hall, 2))
    assert sheet.is_from_answers
    assert [one.pair.id for one in sheet.pairs] == [hall.pairs[2]]
    (only,) = sheet.pairs
    assert only.says.startswith("Reed mudpiper is called Lesser mudpiper about ")
    assert (only.traits[0].trait.label, only.traits[0].decides) == ("Bill", True)
    assert only.first
    assert only.second
    assert sheet.answers > 0
    assert any("tide" in line for line in sheet.cautions)


def test_the_more_often_missed_stands_first_and_what_misleads_is_told(store: Store) -> None:
    with store.work() as db:
        hall, group, number, learners = given(db, 5)
        always, seldom = weak_at(hall, 0), hall.pairs[1]
        seen: list[int] = []

        def knows(view: object, question: object) -> bool:
            if view.pair.id == seldom and question.kind == "form":  # type: ignore[attr-defined]
                seen.append(1)
                return len(seen) % 9 != 0
            return always(view, question)  # type: ignore[arg-type]

        sheet = eve(db, group, number, drilled=learners, knows=knows)
    assert [one.pair.id for one in sheet.pairs] == [hall.pairs[0], seldom]
    assert [third.name for misled in sheet.pairs[0].misleads for third in misled.thirds] == ["Shore mudpiper"]


def test_of_fewer_than_five_who_answered_nothing_is_told(store: Store) -> None:
    with store.work() as db:
        hall, group, number, learners = given(db, 6)
        sheet = eve(db, group, number, drilled=learners[:4], knows=weak_at(hall, 2))
    assert (sheet.is_from_answers, sheet.answers) == (False, 0)
    assert [one.pair.id for one in sheet.pairs] == list(hall.pairs)
    assert {(one.says, one.is_few, one.missed, one.shown) for one in sheet.pairs} == {("", False, 0, 0)}


def test_whoever_has_left_counts_no_more(store: Store) -> None:
    with store.work() as db:
        hall, group, number, learners = given(db, 5)
        play(db, learners[0], at=NOON + timedelta(days=1), knows=weak_at(hall, 2))
        db.execute(update(MembershipRow).where(MembershipRow.account_id == learners[0]).values(until=NOON + timedelta(days=9)))
        sheet = eve(db, group, number, drilled=learners[1:], knows=weak_at(hall, 2))
    assert not sheet.is_from_answers


@pytest.mark.parametrize("withdrawn", ["rights", "retired", "ended"])
def test_a_portrait_that_may_not_be_handed_on_is_left_out(sqlite_store: Store, withdrawn: str) -> None:
    with sqlite_store.work() as db:
        hall, group, number, learners = given(db, 5)
        theirs = select(PictureRow.id).where(PictureRow.form_id == hall.forms[3], PictureRow.use == "portrait")
        if withdrawn == "retired":
            db.execute(update(PictureRow).where(PictureRow.id.in_(theirs)).values(retired_at=NOON))
        else:
            told = {"may_group": False} if withdrawn == "rights" else {"may_until": OUTING - timedelta(days=2)}
            db.execute(update(RightsRow).where(RightsRow.picture_id.in_(theirs)).values(**told))
        sheet = eve(db, group, number, drilled=learners, knows=weak_at(hall, 2))
        assert [(one.first is None, one.second is None) for one in sheet.pairs] == [(False, True)]
        assert db.get_one(GroupRow, group).retired_at is None


@pytest.mark.parametrize("how", ["retired", "rights"])
def test_a_pair_whose_practice_pictures_are_withdrawn_is_still_told_from_the_answers(sqlite_store: Store, how: str) -> None:
    with sqlite_store.work() as db:
        hall, group, number, learners = given(db, 5)
        before = eve(db, group, number, drilled=learners, knows=weak_at(hall, 2))
        practised = select(PictureRow.id).where(PictureRow.form_id == hall.forms[3], PictureRow.use == "practice")
        if how == "retired":
            db.execute(update(PictureRow).where(PictureRow.id.in_(practised)).values(retired_at=NOON))
        else:
            db.execute(update(RightsRow).where(RightsRow.picture_id.in_(practised)).values(may_group=False))
        after = the_eve_sheet(db, group, "club", before.outing, today=OUTING - timedelta(days=1))
    assert before.pairs
    assert after == before, "what was answered stays, and the portraits are others"


def test_when_nobody_misses_the_sheet_says_so(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        _, group, number, learners = given(db, 5)
        sheet = eve(db, group, number, drilled=learners, knows=lambda view, question: True)
    assert (sheet.is_from_answers, sheet.pairs, sheet.unmet) == (True, (), ())
