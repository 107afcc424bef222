"""Disputed pictures, read from the log on both engines."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import event
from sqlalchemy.orm import Session

from drillhall.core.doubt import LEAST_LEARNERS
from drillhall.core.values import NEITHER
from drillhall.practice.doubts import Doubt, list_doubts
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests.practice.saying import add_learners, pictures_of, say
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

AT = NOON + timedelta(days=1)


class Told:
    """A small hall in which ten learners have named a dozen pictures of its first pair rightly."""

    def __init__(self, db: Session) -> None:
        self.db, self.hall = db, make_small_hall(db)
        self.pair, (self.lesser, self.greater) = self.hall.pairs[0], self.hall.forms[:2]
        self.learners = add_learners(db, 10, at=NOON)
        self.of_lesser, self.of_greater = pictures_of(db, self.lesser), pictures_of(db, self.greater)
        self.say(self.of_lesser[:6] + self.of_greater[:6], self.learners)
        self.one = self.of_lesser[8]

    def say(self, pictures: list[int], learners: list[int], said: int | None = None, *, pair: int | None = None, **how: object) -> None:
        say(self.db, self.hall.catalogue, pair or self.pair, pictures, learners, said, **{"at": AT, **how})  # type: ignore[arg-type]

    def doubts(self) -> tuple[Doubt, ...]:
        self.db.flush()
        return list_doubts(self.db, self.hall.catalogue)


def test_a_label_that_all_contradict_is_disputed(store: Store) -> None:
    with store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, told.greater)
        [doubt] = told.doubts()
        assert (doubt.picture_id, doubt.pair_id, doubt.label) == (told.one, told.pair, told.lesser)
        assert (doubt.said, doubt.learners, doubt.likeliest) == (((told.greater, 10),), 10, told.greater)
        assert doubt.chance_right < 0.01
        assert doubt.is_few
        assert doubt.forms == {told.lesser, told.greater}


def test_neither_disputes_a_label_too(store: Store) -> None:
    with store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, NEITHER)
        assert [doubt.likeliest for doubt in told.doubts()] == [NEITHER]


def test_a_picture_of_a_third_is_labelled_neither(store: Store) -> None:
    with store.work() as db:
        told = Told(db)
        thirds = pictures_of(db, told.hall.forms[2])
        told.say(thirds[:3], told.learners)
        told.say([thirds[5]], told.learners, told.greater)
        assert [(doubt.picture_id, doubt.label, doubt.likeliest) for doubt in told.doubts()] == [(thirds[5], NEITHER, told.greater)]


@pytest.mark.parametrize(
    "how",
    [{"sure": "possible"}, {"hint": True}, {"prompted": True}, {"first_sight": False}, {"rendition": "far off"}],
    ids=lambda how: next(iter(how)),
)
def test_answers_that_are_no_witness_are_not_read(sqlite_store: Store, how: dict[str, object]) -> None:
    with sqlite_store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, told.greater, **how)
        assert told.doubts() == ()


def test_too_few_learners_dispute_nothing(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners[: LEAST_LEARNERS - 1], told.greater)
        assert told.doubts() == ()
        told.say([told.one], told.learners[LEAST_LEARNERS - 1 : LEAST_LEARNERS], told.greater)
        assert len(told.doubts()) == 1


def test_a_label_that_was_found_right_is_disputed_by_later_answers_alone(store: Store) -> None:
    with store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, told.greater)
        held = db.get_one(CataloguePictureRow, (told.hall.catalogue, told.one))
        held.checked_at = AT + timedelta(minutes=1)
        assert told.doubts() == ()
        later = add_learners(db, LEAST_LEARNERS, at=NOON)
        told.say(told.of_lesser[:6] + told.of_greater[:6], later)
        told.say([told.one], later, told.greater, at=AT + timedelta(days=1))
        assert [doubt.learners for doubt in told.doubts()] == [LEAST_LEARNERS]


def test_a_corrected_label_is_disputed_no_more(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, told.greater)
        db.get_one(PictureRow, told.one).form_id = told.greater
        assert told.doubts() == ()


def test_a_picture_that_is_out_of_the_catalogue_is_not_disputed(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, told.greater)
        db.get_one(CataloguePictureRow, (told.hall.catalogue, told.one)).retired_at = AT
        assert told.doubts() == ()


def test_a_picture_disputed_in_two_pairs_is_told_once(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = Told(db)
        other = told.hall.pairs[2]  # of the lesser one and the last
        last = told.hall.forms[3]
        more = add_learners(db, 12, at=NOON)
        told.say(told.of_lesser[:6] + pictures_of(db, last)[:6], more, pair=other)
        told.say([told.one], told.learners, told.greater)
        told.say([told.one], more, NEITHER, pair=other)
        assert [doubt.picture_id for doubt in told.doubts()] == [told.one]


def test_nothing_said_disputes_nothing(store: Store) -> None:
    with store.work() as db:
        hall: SmallHall = make_small_hall(db)
        assert list_doubts(db, hall.catalogue) == ()


def test_the_number_of_statements_does_not_grow(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        told = Told(db)
        told.say([told.one], told.learners, told.greater)
        db.flush()
        seen: list[str] = []
        listen = lambda *args: seen.append(args[2])  # noqa: E731 - what the event calls
        event.listen(sqlite_store.engine, "before_cursor_execute", listen)
        told.doubts()
        few = len(seen)
        told.say(told.of_lesser[9:], told.learners, told.greater)
        db.flush()
        seen.clear()
        assert len(told.doubts()) == 4
        assert len(seen) == few == 3
