"""Numbers of one's own: an offer changes nothing, taking it folds anew, a rebuild gives the same, and going back undoes it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from drillhall.core.fitting import FittingOffer
from drillhall.core.memory import USUAL_PARAMETERS
from drillhall.errors import NotFound
from drillhall.practice import own_numbers
from drillhall.practice.folding import rebuild
from drillhall.store.models.practice import MemoryRow, ParameterSetRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_trying import answer, begin

OWN = (*(2 * value for value in USUAL_PARAMETERS[:4]), *USUAL_PARAMETERS[4:])
OFFER = FittingOffer(OWN, 400, 100, usual_loss=0.4, fitted_loss=0.3)


def memories(store: Store) -> list[tuple[int, float, object]]:
    with store.look() as db:
        return [(row.pair_id, row.stability_days, row.due_day) for row in db.scalars(select(MemoryRow).order_by(MemoryRow.pair_id))]


def test_an_offer_changes_nothing_until_it_is_taken_and_can_be_put_back(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    answer(sqlite_store, quick_hall, "rrrrr")
    usual = memories(sqlite_store)
    with sqlite_store.work() as db:
        own_numbers.keep_offer(db, quick_hall.learner, OFFER, at=NOON)
    assert memories(sqlite_store) == usual
    with sqlite_store.work() as db:
        own_numbers.take_set(db, quick_hall.learner, db.scalars(select(ParameterSetRow.id)).one(), at=NOON)
    own = memories(sqlite_store)
    assert own[0][1] == pytest.approx(2 * usual[0][1])
    with sqlite_store.work() as db:
        rebuild(db)
    assert memories(sqlite_store) == own
    with sqlite_store.work() as db:
        own_numbers.go_back(db, quick_hall.learner, at=NOON + timedelta(days=1))
        page = own_numbers.the_numbers(db, quick_hall.learner, now=NOON)
    assert memories(sqlite_store) == usual
    assert page.current is None
    assert page.sets[0].ended_at is not None


def test_the_set_before_is_kept(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        for _ in range(2):
            own_numbers.keep_offer(db, quick_hall.learner, OFFER, at=NOON)
        db.flush()
        first, second = db.scalars(select(ParameterSetRow.id).order_by(ParameterSetRow.id))
        own_numbers.take_set(db, quick_hall.learner, first, at=NOON)
        own_numbers.take_set(db, quick_hall.learner, second, at=NOON)
        page = own_numbers.the_numbers(db, quick_hall.learner, now=NOON)
    assert [one.holds for one in page.sets] == [True, False]


def test_what_was_offered_to_another_cannot_be_taken(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        own_numbers.keep_offer(db, quick_hall.learner, OFFER, at=NOON)
        db.flush()
        with pytest.raises(NotFound):
            own_numbers.take_set(db, quick_hall.stranger, db.scalars(select(ParameterSetRow.id)).one(), at=NOON)


def test_few_rounds_bring_no_offer(sqlite_store: Store, quick_hall: SmallHall) -> None:
    begin(sqlite_store, quick_hall)
    answer(sqlite_store, quick_hall, "rrrrr")
    with sqlite_store.look() as db:
        assert own_numbers.seek_offer(db, quick_hall.learner) is None
        assert own_numbers.the_numbers(db, quick_hall.learner, now=NOON).rounds == 1


def test_what_is_asked_for_is_taken_up_once_and_settled(store: Store, hall: SmallHall, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(own_numbers, "LEAST_ROUNDS", 0)
    later = NOON + timedelta(minutes=31)
    for account_id, minute in ((hall.stranger, 1), (hall.learner, 0)):
        with store.work() as db:
            own_numbers.ask_for_offer(db, account_id, at=NOON + timedelta(minutes=minute))
    with store.work() as db:
        assert own_numbers.take_up(db, at=NOON) == hall.learner, "who asked first"
        own_numbers.ask_for_offer(db, hall.learner, at=NOON)
    with store.work() as db:
        assert own_numbers.take_up(db, at=NOON) == hall.stranger
    with store.work() as db:
        assert own_numbers.take_up(db, at=NOON) is None
        own_numbers.settle(db, hall.learner, OFFER, at=NOON)
        own_numbers.settle(db, 10**6, OFFER, at=NOON)
    with store.look() as db:
        done, broken = (own_numbers.the_numbers(db, one, now=later) for one in (hall.learner, hall.stranger))
    assert done.fitting is not None
    assert broken.fitting is not None
    assert (done.fitting.offered, len(done.sets)) == (True, 1)
    assert (broken.fitting.is_at_work, broken.fitting.done_at, broken.sets) == (False, None, ())
    with store.work() as db:
        own_numbers.ask_for_offer(db, hall.stranger, at=later)
        assert own_numbers.take_up(db, at=later) == hall.stranger, "broken off, so it may be asked for again"
