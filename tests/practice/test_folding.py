"""What is remembered and counted is a fold over the log: a rebuild gives the same rows, to the last unit."""

from __future__ import annotations

import random
import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select, update

from drillhall.practice import playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import rebuild, rewrite_due_days
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import DrillRow, MemoryRow, SightRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall, make_small_hall


def drill_for_days(store: Store, hall: SmallHall, days: int, seed: int) -> None:
    dice = random.Random(seed)
    for day in range(days):
        with store.work() as db:
            play(db, hall.learner, at=NOON + timedelta(days=day), knows=lambda view, question: dice.random() < 0.8)


def test_a_rebuild_gives_the_same_rows(store: Store, hall: SmallHall) -> None:
    drill_for_days(store, hall, 6, seed=3)
    with store.look() as db:
        before = folded(db)
    # Two pictures side by side come by the dice, and have their rebuild tried in test_side_by_side.py.
    assert all(rows for table, rows in before.items() if table != "beside_tally")
    with store.work() as db:
        assert rebuild(db) == 1
    with store.look() as db:
        assert folded(db) == before


def test_a_rebuild_mends_what_was_spoilt(store: Store, hall: SmallHall) -> None:
    drill_for_days(store, hall, 3, seed=5)
    with store.look() as db:
        before = folded(db)
    with store.work() as db:
        db.execute(update(MemoryRow).values(stability_days=1.0, rounds=77))
        db.execute(update(TallyRow).values(count=9))
        db.execute(update(SightRow).values(times=0))
        db.execute(update(DrillRow).values(local_day=date(1999, 1, 1)))
    with store.work() as db:
        rebuild(db)
    with store.look() as db:
        assert folded(db) == before


@pytest.mark.parametrize("late", [False, True])
def test_a_drill_sent_in_late_is_put_in_its_place(store: Store, hall: SmallHall, late: bool) -> None:
    """Two drills, the first one played offline and handed in after the second: days, memory and counts as if it had come in time."""
    with store.work() as db:
        first = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
        early_answers = answers_to(playing.the_packet(db, hall.learner, first, now=NOON), at=NOON, knows=lambda view, question: False)
        next_day = NOON + timedelta(days=1)
        second = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=next_day)
        later_answers = answers_to(playing.the_packet(db, hall.learner, second, now=next_day), at=next_day)
        for batch in (later_answers, early_answers) if late else (early_answers, later_answers):
            store_answers(db, hall.learner, batch, received_at=next_day + timedelta(hours=5))
    with store.look() as db:
        days = [db.get_one(DrillRow, drill).local_day for drill in (first, second)]
        memories = {row.pair_id: (row.rounds, row.last_outcome, row.held_running) for row in db.scalars(select(MemoryRow))}
        before = folded(db)
    assert days == [NOON.date(), next_day.date()]
    assert set(memories.values()) == {(2, "held", 1)}, "missed on the first day, held on the second"
    with store.work() as db:
        rebuild(db)
    with store.look() as db:
        assert folded(db) == before


def test_only_the_first_round_of_a_pair_on_a_day_moves_the_memory(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet = play(db, quick_hall.learner, at=NOON)
        turns = [view.pair.id for view in packet.rounds]
        memories = db.scalars(select(MemoryRow)).all()
    assert max(turns.count(pair) for pair in turns) > 1, "the drill should hold a pair twice"
    assert {memory.rounds for memory in memories} == {1}


def test_memory_does_not_depend_on_when_the_answers_came(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill_id = start_drill(db, quick_hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
        packet = playing.the_packet(db, quick_hall.learner, drill_id, now=NOON)
        store_answers(db, quick_hall.learner, answers_to(packet, at=NOON), received_at=NOON + timedelta(days=9))
        last_days = set(db.scalars(select(MemoryRow.last_day)))
    assert last_days == {NOON.date()}


@pytest.mark.parametrize(
    ("zone", "instant", "day"),
    [
        ("Pacific/Auckland", datetime(2031, 3, 3, 12, tzinfo=UTC), date(2031, 3, 4)),
        ("America/Los_Angeles", datetime(2031, 3, 3, 6, tzinfo=UTC), date(2031, 3, 2)),
        # Clocks go forward in Berlin on 30 March 2031 at 01:00 UTC: 22:30 UTC is 00:30 the day after, no longer 23:30.
        ("Europe/Berlin", datetime(2031, 3, 29, 22, 30, tzinfo=UTC), date(2031, 3, 29)),
        ("Europe/Berlin", datetime(2031, 3, 30, 22, 30, tzinfo=UTC), date(2031, 3, 31)),
    ],
)
def test_the_local_day_is_the_learners_own(sqlite_store: Store, zone: str, instant: datetime, day: date) -> None:
    with sqlite_store.work() as db:
        hall = make_small_hall(db, zone=zone)
        play(db, hall.learner, at=instant)
        assert set(db.scalars(select(DrillRow.local_day))) == {day}


def test_a_learner_who_flies_west_does_not_go_back_a_day(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = make_small_hall(db, zone="Pacific/Auckland")
        play(db, hall.learner, at=datetime(2031, 3, 3, 12, tzinfo=UTC))
        db.get_one(AccountRow, hall.learner).zone = "America/Los_Angeles"
        db.flush()
        play(db, hall.learner, at=datetime(2031, 3, 4, 5, tzinfo=UTC))
        days = list(db.scalars(select(DrillRow.local_day).order_by(DrillRow.first_at)))
    assert days == [date(2031, 3, 4), date(2031, 3, 4)]


def test_a_changed_target_moves_what_falls_due_and_a_rebuild_agrees(store: Store, hall: SmallHall) -> None:
    drill_for_days(store, hall, 4, seed=7)
    with store.work() as db:
        before = folded(db)["memory"]
        db.get_one(AccountRow, hall.learner).target_recall = 0.70
        db.flush()
        rewrite_due_days(db, hall.learner)
    with store.look() as db:
        after = folded(db)
    assert after["memory"] != before
    with store.work() as db:
        rebuild(db)
    with store.look() as db:
        assert folded(db) == after


def test_a_picture_described_anew_changes_no_count(store: Store, hall: SmallHall) -> None:
    drill_for_days(store, hall, 2, seed=9)
    with store.work() as db:
        before = folded(db)
        db.execute(update(PictureRow).values(orientation="left"))
    with store.work() as db:
        rebuild(db)
    with store.look() as db:
        assert folded(db) == before


def test_a_hint_taken_on_the_prompt_counts_for_the_picture(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill_id = start_drill(db, quick_hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
        packet = playing.the_packet(db, quick_hall.learner, drill_id, now=NOON)
        answers = [replace(answer, hint=answer.sure is None) for answer in answers_to(packet, at=NOON)]
        store_answers(db, quick_hall.learner, answers, received_at=NOON)
        outcomes = set(db.scalars(select(MemoryRow.last_outcome)))
    assert outcomes == {"held, unsure"}
