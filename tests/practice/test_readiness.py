"""How far a group is: who is named, who is counted, and that nothing from before a membership is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import event, func, select, update
from sqlalchemy.orm import Session

from drillhall.core.fitting import FittingOffer
from drillhall.core.forecast import Recalibration
from drillhall.core.memory import USUAL_PARAMETERS
from drillhall.practice import own_numbers, readiness
from drillhall.practice.assigning import Wanted, assign, the_assignment
from drillhall.practice.looking_ahead import look_ahead
from drillhall.practice.readiness import Progress, Readiness, the_readiness
from drillhall.store.models.catalogue import CataloguePairRow, CataloguePictureRow, PairSetRow, StagePairRow, StageRow, TakenSetRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, ParameterSetRow, RecalibrationRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall, make_small_hall
from tests.practice.test_assigning import OUTING, TODAY, a_group

LATER = NOON + timedelta(days=1)


def people(db: Session, how_many: int) -> list[int]:
    rows = [AccountRow(name=f"P{n}", name_folded=f"p{n}", passphrase_hash="none", zone="UTC", created_at=NOON) for n in range(how_many)]
    db.add_all(rows)
    db.flush()
    return [row.id for row in rows]


def given(db: Session, how_many: int, *, kind: str = "club") -> tuple[SmallHall, int, int, list[int]]:
    """A group of so many learners with the small set for a day in three weeks."""
    hall = make_small_hall(db, taken=False)
    learners = people(db, how_many)
    group = a_group(db, hall.stranger, *learners, kind=kind)
    number = assign(db, group, Wanted(hall.pair_set, TODAY, OUTING), by=hall.stranger, today=TODAY, at=NOON)
    return hall, group, number, learners


def told(db: Session, group: int, number: int, kind: str = "club", today: date = TODAY) -> Readiness:
    return the_readiness(db, group, kind, the_assignment(db, group, number), today=today)


def test_a_club_names_those_who_agreed_and_counts_the_rest_from_five_on(store: Store) -> None:
    with store.work() as db:
        _, group, number, learners = given(db, 6)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == learners[0]).values(lets_leader_see=True))
        for account_id in learners[:3]:
            play(db, account_id, at=LATER)
        found = told(db, group, number)
    assert [(one.name, one.progress is Progress.NOT_BEGUN) for one in found.named] == [("P0", False)]
    assert (found.others, sum((found.rest or {}).values()), (found.rest or {})[Progress.NOT_BEGUN]) == (5, 5, 3)
    assert (found.pair_count, found.resting, found.day) == (3, 0, OUTING)
    assert all(sum(pair.words.values()) == 6 for pair in found.pairs)


def test_fewer_than_five_others_are_told_of_in_no_way(store: Store) -> None:
    with store.work() as db:
        _, group, number, learners = given(db, 4)
        for account_id in learners:
            play(db, account_id, at=LATER)
        found = told(db, group, number)
    assert (found.named, found.others, found.rest, found.middle) == ((), 4, None, None)
    assert all(not pair.words for pair in found.pairs)


def test_a_teacher_sees_the_class_by_name(store: Store) -> None:
    with store.work() as db:
        _, group, number, learners = given(db, 2, kind="class")
        play(db, learners[1], at=LATER)
        found = told(db, group, number, "class")
    assert [one.progress is Progress.NOT_BEGUN for one in found.named] == [True, False]
    assert (found.others, found.rest) == (0, None)


def test_what_she_answered_before_she_joined_is_told_to_nobody(store: Store) -> None:
    with store.work() as db:
        hall, group, number, (early,) = given(db, 1, kind="class")
        db.add(TakenSetRow(account_id=early, pair_set_id=hall.pair_set, taken_at=NOON))
        play(db, early, at=LATER)
        assert told(db, group, number, "class").named[0].progress is not Progress.NOT_BEGUN
        joined = NOON + timedelta(days=5)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == early).values(since=joined))
        found = told(db, group, number, "class")
        assert (found.named[0].progress, found.named[0].words) == (Progress.NOT_BEGUN, {"unmet": 3})
        play(db, early, at=joined + timedelta(days=1), knows=lambda view, _: view.pair.id != hall.pairs[0])
        words = told(db, group, number, "class").named[0].words
        assert words["unmet"] < 3


def test_of_a_round_begun_before_she_joined_nothing_is_told(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        _, group, number, (early,) = given(db, 1, kind="class")
        play(db, early, at=LATER)
        joined = db.scalar(select(func.max(AnswerRow.at)))  # she joined just before the last answer of all
        db.execute(update(MembershipRow).where(MembershipRow.account_id == early).values(since=joined))
        assert told(db, group, number, "class").named[0].words == {"unmet": 3}


def test_one_is_ready_who_will_likely_hold_nearly_all_and_fades_by_a_far_day(store: Store) -> None:
    with store.work() as db:
        _, group, number, (one,) = given(db, 1, kind="class")
        for day in (1, 2, 4, 8, 14):
            play(db, one, at=NOON + timedelta(days=day))
        near = told(db, group, number, "class", today=TODAY + timedelta(days=15))
        assert (near.named[0].progress, near.middle, near.named[0].words["likely"]) == (Progress.READY, 3, 3)
        far = told(db, group, number, "class", today=TODAY + timedelta(days=900))
        assert far.day == TODAY + timedelta(days=900)
        assert far.named[0].words["likely"] < 3


def take_numbers(db: Session, account_id: int, numbers: tuple[float, ...]) -> None:
    own_numbers.keep_offer(db, account_id, FittingOffer(numbers, 400, 100, usual_loss=0.4, fitted_loss=0.3), at=NOON)
    db.flush()
    own_numbers.take_set(db, account_id, db.scalars(select(ParameterSetRow.id)).one(), at=NOON)


def test_who_goes_by_numbers_of_her_own_fades_by_them(sqlite_store: Store) -> None:
    far = TODAY + timedelta(days=60)
    with sqlite_store.work() as db:
        _, group, number, (one,) = given(db, 1, kind="class")
        play(db, one, at=LATER)
        db.add(RecalibrationRow(id=1, intercept=0.0, slope=1.0))
        take_numbers(db, one, (*USUAL_PARAMETERS[:20], 0.8))  # a memory that fades much sooner
        page = look_ahead(db, one, by=far, now=LATER + timedelta(days=1))
        expected = told(db, group, number, "class", today=far).expected
    assert expected == pytest.approx(sum(pair.chance or 0.0 for pair in page.faded))
    assert len(page.faded) == 3


def test_what_is_folded_anew_since_she_joined_is_folded_by_her_own_numbers(sqlite_store: Store) -> None:
    expected = []
    with sqlite_store.work() as db:
        _, group, number, (one,) = given(db, 1, kind="class")
        for day in (0, 2):
            play(db, one, at=NOON + timedelta(days=day))
        db.execute(update(MembershipRow).where(MembershipRow.account_id == one).values(since=NOON + timedelta(days=1)))
        db.add(RecalibrationRow(id=1, intercept=0.0, slope=1.0))
        expected.append(told(db, group, number, "class").expected or 0.0)
        take_numbers(db, one, (*(3 * value for value in USUAL_PARAMETERS[:4]), *USUAL_PARAMETERS[4:]))  # it lasts three times as long
        expected.append(told(db, group, number, "class").expected or 0.0)
    assert 0.0 < expected[0] < expected[1]


def test_pairs_whose_pictures_were_withdrawn_rest(store: Store) -> None:
    with store.work() as db:
        _, group, number, _ = given(db, 1)
        db.execute(update(CataloguePictureRow).values(retired_at=NOON))
        found = told(db, group, number)
    assert (found.pair_count, found.resting, found.pairs, found.middle) == (0, 3, (), None)


@pytest.mark.parametrize("how_many", [2, 12])
def test_it_asks_the_database_no_oftener_for_more_people(sqlite_store: Store, how_many: int) -> None:
    asked: list[str] = []
    with sqlite_store.work() as db:
        _, group, number, learners = given(db, how_many)
        for account_id in learners[:2]:
            play(db, account_id, at=LATER)
        event.listen(sqlite_store.engine, "before_cursor_execute", lambda *said: asked.append(said[2]))
        told(db, group, number)
    assert len(asked) <= 20  # one of them reads the hall's recalibration, one who goes by numbers of her own


def test_it_asks_the_database_no_oftener_for_more_sets(sqlite_store: Store) -> None:
    asked: list[str] = []
    with sqlite_store.work() as db:
        hall, group, number, learners = given(db, 2, kind="class")
        play(db, learners[0], at=LATER)
        one = the_assignment(db, group, number)
        for place in range(4):
            db.add(PairSetRow(catalogue_id=hall.catalogue, key=f"more-{place}", title="More", place=place + 1))
        db.flush()
        for set_id in db.scalars(select(PairSetRow.id).where(PairSetRow.key.like("more-%"))):
            stage = StageRow(pair_set_id=set_id, title="All", place=0)
            db.add(stage)
            db.flush()
            entry = db.scalars(select(CataloguePairRow.id).where(CataloguePairRow.pair_id == hall.pairs[set_id % 3])).one()
            db.add(StagePairRow(stage_id=stage.id, catalogue_pair_id=entry, place=0))
            db.flush()
        sets = [one.pair_set_id, *db.scalars(select(PairSetRow.id).where(PairSetRow.key.like("more-%")))]
        every = [replace(one, pair_set_id=set_id, pairs=1) for set_id in sets]
        event.listen(sqlite_store.engine, "before_cursor_execute", lambda *said: asked.append(said[2]))
        few = readiness.readiness_of_all(db, group, "class", every[:1], today=TODAY)
        for_few = len(asked)
        many = readiness.readiness_of_all(db, group, "class", every, today=TODAY)
    assert len(asked) == 2 * for_few
    assert many[0] == few[0]
    assert [found.pair_count for found in many] == [3, 1, 1, 1, 1]
    assert many[1].pairs[0] in many[0].pairs


def test_chances_come_in_numbers_once_the_hall_has_rounds_enough(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    with sqlite_store.work() as db:
        _, group, number, learners = given(db, 2, kind="class")
        for account_id in learners:
            play(db, account_id, at=LATER)
        before = told(db, group, number, "class")
        monkeypatch.setattr(readiness, "the_recalibration", lambda _: Recalibration(-30.0, 0.0))
        never = told(db, group, number, "class")
        monkeypatch.setattr(readiness, "the_recalibration", lambda _: Recalibration(30.0, 0.0))
        always = told(db, group, number, "class")
    assert before.expected is None
    assert never.expected == pytest.approx(0, abs=1e-6)
    assert {one.progress for one in never.named} <= {Progress.BEGUN, Progress.ON_THE_WAY}
    met = sum(one.words["likely"] for one in always.named) / 2
    assert met > 0
    assert always.expected == pytest.approx(met, abs=1e-6)


def test_whoever_left_is_told_of_no_more_the_same_day(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        _, group, number, learners = given(db, 6)
        for account_id in learners:
            play(db, account_id, at=LATER)
        assert sum((told(db, group, number).rest or {}).values()) == 6
        db.execute(update(MembershipRow).where(MembershipRow.account_id == learners[0]).values(until=LATER))
        assert sum((told(db, group, number).rest or {}).values()) == 5
        db.execute(update(MembershipRow).where(MembershipRow.account_id == learners[1]).values(until=LATER))
        found = told(db, group, number)
    assert (found.others, found.rest, found.middle) == (4, None, None)
