"""What is left of a stored drill after a miss: its round is over, another takes the time, whichever device it came from."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.practice import playing
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.left import pictures_left
from drillhall.practice.packets import Packet, ShowingView
from drillhall.store.models.practice import MemoryRow, RoundRow, TallyRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall


@pytest.fixture
def drilled(sqlite_store: Store, quick_hall: SmallHall) -> str:
    with sqlite_store.work() as db:
        return start_drill(db, quick_hall.learner, drill_id=str(uuid.uuid4()), at=NOON)


def say(db: Session, learner: int, showing: ShowingView, *, right: bool, minutes: int = 0) -> None:
    """Answer every question of a showing: the traits rightly, the form as told."""
    answers = []
    for question in showing.questions:
        wrong = next(choice.key for choice in question.choices if choice.key != question.key)
        said = question.key if right or question.kind != "form" else wrong
        sure = "probable" if question.kind == "form" else None
        at = NOON + timedelta(minutes=minutes)
        answers.append(NewAnswer(str(uuid.uuid4()), showing.id, question.place, said, sure, 8.0, False, at))
    assert not store_answers(db, learner, answers, received_at=NOON + timedelta(hours=2)).refused


def packet_of(db: Session, hall: SmallHall, drill: str) -> Packet:
    return playing.the_packet(db, hall.learner, drill, now=NOON)


def test_a_miss_ends_its_round_and_it_is_rated_as_missed(sqlite_store: Store, quick_hall: SmallHall, drilled: str) -> None:
    with sqlite_store.work() as db:
        before = packet_of(db, quick_hall, drilled)
        planned = sum(showing.left for view in before.rounds for showing in view.showings)
        say(db, quick_hall.learner, before.rounds[0].showings[0], right=False)
        after = packet_of(db, quick_hall, drilled)
        assert [showing.left for showing in after.rounds[0].showings] == [False] * 3
        assert pictures_left(db, quick_hall.learner, drilled, today=NOON.date()) == planned - 3
        assert db.scalars(select(MemoryRow.last_outcome)).all() == ["missed"]


def test_the_time_that_misses_leave_goes_to_a_spare_round(sqlite_store: Store, quick_hall: SmallHall, drilled: str) -> None:
    with sqlite_store.work() as db:
        packet = packet_of(db, quick_hall, drilled)
        spares = [view for view in packet.rounds if view.spare]
        assert spares
        assert not any(showing.left for view in spares for showing in view.showings)
        assert not packet.rounds[-1].spare, "the last round is one she is likely to hold"
        for view in packet.rounds[:2]:
            say(db, quick_hall.learner, view.showings[0], right=False)
        now_left = {view.id for view in packet_of(db, quick_hall, drilled).rounds if view.spare and view.showings[0].left}
        assert now_left == {spares[0].id}


def test_what_another_device_answered_after_the_miss_is_kept_and_counted(sqlite_store: Store, quick_hall: SmallHall, drilled: str) -> None:
    """The phone, without a connection, held the round; the laptop had missed its first picture a minute earlier, and hands in last."""
    with sqlite_store.work() as db:
        first = packet_of(db, quick_hall, drilled).rounds[0]
        for number, showing in enumerate(first.showings):
            say(db, quick_hall.learner, showing, right=True, minutes=10 + number)
        assert db.scalars(select(MemoryRow.last_outcome)).one() == "held"
        say(db, quick_hall.learner, first.showings[0], right=False, minutes=5)
        assert db.scalars(select(MemoryRow.last_outcome)).one() == "missed"
        assert sum(db.scalars(select(TallyRow.count))) == 3


def test_a_round_planned_before_there_was_such_a_rule_is_played_to_its_end(
    sqlite_store: Store, quick_hall: SmallHall, drilled: str
) -> None:
    with sqlite_store.work() as db:
        for row in db.scalars(select(RoundRow)):
            row.ends_at_miss = False
        db.flush()
        packet = packet_of(db, quick_hall, drilled)
        say(db, quick_hall.learner, packet.rounds[0].showings[0], right=False)
        left = [showing.left for showing in packet_of(db, quick_hall, drilled).rounds[0].showings]
        assert left == [False, True, True]


def test_a_trait_misread_ends_no_round(sqlite_store: Store, quick_hall: SmallHall, drilled: str) -> None:
    with sqlite_store.work() as db:
        view = packet_of(db, quick_hall, drilled).rounds[0]
        asked = view.showings[0].questions[0]
        assert asked.kind == "trait"
        wrong = next(choice.key for choice in asked.choices if choice.key != asked.key)
        answer = NewAnswer(str(uuid.uuid4()), view.showings[0].id, 0, wrong, None, 5.0, False, NOON)
        assert not store_answers(db, quick_hall.learner, [answer], received_at=NOON).refused
        assert all(showing.left for showing in packet_of(db, quick_hall, drilled).rounds[0].showings)
