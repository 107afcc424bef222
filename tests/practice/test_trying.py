"""A trial from its first picture to what it came to; folded anew it gives the same, and it is no drill of the day."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from sqlalchemy import select

from drillhall.core.placement import Placing
from drillhall.errors import Conflict, NotFound
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.folding import rebuild
from drillhall.practice.playing import find_latest_drill, find_open_drill, the_packet
from drillhall.practice.trying import TrialPage, start_trial, the_trial
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import MemoryRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall

TRIAL = str(uuid.UUID(int=7, version=4))


def begin(store: Store, hall: SmallHall, *, day: int = 0, drill_id: str = TRIAL) -> str:
    with store.work() as db:
        return start_trial(db, hall.learner, hall.pairs[0], drill_id=drill_id, at=NOON + timedelta(days=day))


def page_of(store: Store, hall: SmallHall, drill_id: str = TRIAL) -> TrialPage:
    with store.look() as db:
        return the_trial(db, hall.learner, drill_id, now=NOON)


def answer(store: Store, hall: SmallHall, rights: str, *, drill_id: str = TRIAL, day: int = 0) -> TrialPage:
    """Answer picture by picture, rightly (r) or wrongly (w)."""
    for number, right in enumerate(rights):
        page = page_of(store, hall, drill_id)
        assert page.showing_id is not None
        at = NOON + timedelta(days=day, seconds=10 + number)
        with store.work() as db:
            row = db.get_one(ShowingRow, page.showing_id)
            said = row.form_id if right == "r" else page.pair.other(row.form_id).id
            new = NewAnswer(str(uuid.uuid4()), row.id, 0, str(said), "possible", 3.0, False, at)
            assert not store_answers(db, hall.learner, [new], received_at=at).refused
    return page_of(store, hall, drill_id)


@pytest.mark.parametrize(("rights", "placing", "outcome"), [("rrrrr", Placing.PASSED, "held with ease"), ("ww", Placing.OUT, "missed")])
def test_a_trial_ends_as_soon_as_enough_is_said_and_is_one_round(
    store: Store, hall: SmallHall, rights: str, placing: Placing, outcome: str
) -> None:
    begin(store, hall)
    page = answer(store, hall, rights)
    assert page.placing is placing
    assert page.showing_id is None
    assert page.back_on is not None
    with store.look() as db:
        memory = db.scalars(select(MemoryRow)).one()
        assert (memory.last_outcome, memory.rounds) == (outcome, 1)


def test_what_it_came_to_is_the_same_after_a_rebuild(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    answer(sqlite_store, quick_hall, "rwrrrrrrrr")
    with sqlite_store.look() as db:
        before = [(row.stability_days, row.last_outcome, row.due_day, row.recalled) for row in db.scalars(select(MemoryRow))]
    assert before[0][1] == "held with ease"
    with sqlite_store.work() as db:
        rebuild(db)
    with sqlite_store.look() as db:
        assert [(row.stability_days, row.last_outcome, row.due_day, row.recalled) for row in db.scalars(select(MemoryRow))] == before


def test_a_trial_left_half_way_rates_nothing_and_is_taken_up_again(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    page = answer(sqlite_store, quick_hall, "rrrr")
    assert page.placing is Placing.GOING_ON
    assert begin(sqlite_store, quick_hall, drill_id=str(uuid.UUID(int=8, version=4))) == TRIAL
    with sqlite_store.look() as db:
        assert db.scalars(select(MemoryRow)).all() == []


def test_after_one_that_is_over_none_begins_that_day(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    answer(sqlite_store, quick_hall, "ww")
    other = str(uuid.UUID(int=9, version=4))
    with pytest.raises(Conflict, match="another day"):
        begin(sqlite_store, quick_hall, drill_id=other)
    assert begin(sqlite_store, quick_hall, drill_id=other, day=1) == other


def test_a_trial_is_no_drill_of_the_day(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    with sqlite_store.look() as db:
        assert find_open_drill(db, quick_hall.learner, now=NOON) is None
        assert find_latest_drill(db, quick_hall.learner) is None
        with pytest.raises(NotFound):
            the_packet(db, quick_hall.learner, TRIAL, now=NOON)


def test_a_pair_of_nobodys_and_anothers_trial_are_not_there(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    with sqlite_store.work() as db:
        with pytest.raises(NotFound):
            the_trial(db, quick_hall.stranger, TRIAL, now=NOON)
        with pytest.raises(NotFound):
            start_trial(db, quick_hall.stranger, quick_hall.pairs[0], drill_id=TRIAL, at=NOON)


def test_too_few_pictures_make_no_trial(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        for row in db.scalars(select(PictureRow).where(PictureRow.form_id == quick_hall.forms[0]).limit(10)):
            row.use = "portrait"
    with pytest.raises(Conflict, match="too few pictures"):
        begin(sqlite_store, quick_hall)


def test_pictures_withdrawn_meanwhile_are_passed_over(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    first = page_of(sqlite_store, quick_hall)
    with sqlite_store.work() as db:
        for row in db.scalars(select(PictureRow)):
            row.use = "portrait"
    after = page_of(sqlite_store, quick_hall)
    assert first.showing_id is not None
    assert after.stopped
    assert after.placing is Placing.GOING_ON
