"""Answers are stored once each, judged by what was asked, and refused with a sentence."""

from __future__ import annotations

import random
import uuid
from dataclasses import replace
from datetime import timedelta, timezone

import pytest
from sqlalchemy import select

from drillhall.errors import BadAnswer
from drillhall.practice import playing
from drillhall.practice.answering import MOST_AT_ONCE, NewAnswer, store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import rebuild
from drillhall.practice.packets import Packet
from drillhall.store.models.catalogue import TakenSetRow
from drillhall.store.models.practice import AnswerRow, MemoryRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to
from tests.practice.rows import answers as log_of
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall

LATER = NOON + timedelta(hours=1)


def begin(store: Store, hall: SmallHall) -> Packet:
    with store.work() as db:
        drill_id = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
    with store.look() as db:
        return playing.the_packet(db, hall.learner, drill_id, now=NOON)


def one(packet: Packet, **changes: object) -> NewAnswer:
    return replace(answers_to(packet, at=NOON)[0], **changes)  # type: ignore[arg-type]


def test_an_answer_is_found_in_the_log_with_all_three_times(store: Store, hall: SmallHall) -> None:
    answer = one(begin(store, hall), at=NOON + timedelta(minutes=4))
    with store.work() as db:
        stored = store_answers(db, hall.learner, [answer], received_at=LATER)
    with store.look() as db:
        row = db.get_one(AnswerRow, answer.id)
    assert stored.stored == (answer.id,)
    assert (row.at, row.phone_at, row.received_at) == (NOON + timedelta(minutes=4), NOON + timedelta(minutes=4), LATER)
    assert row.said == answer.said


def test_the_same_answer_sent_again_is_known_and_changes_nothing(store: Store, hall: SmallHall) -> None:
    answers = answers_to(begin(store, hall), at=NOON)
    with store.work() as db:
        store_answers(db, hall.learner, answers, received_at=LATER)
    with store.look() as db:
        before = folded(db), log_of(db)
    with store.work() as db:
        again = store_answers(db, hall.learner, [*answers, answers[0]], received_at=LATER + timedelta(days=1))
    with store.look() as db:
        assert (folded(db), log_of(db)) == before
    assert set(again.known) == {answer.id for answer in answers}
    assert again.stored == ()


@pytest.mark.parametrize("seed", range(4))
def test_however_answers_are_cut_and_shuffled_the_fold_is_the_same(sqlite_store: Store, quick_hall: SmallHall, seed: int) -> None:
    dice = random.Random(seed)
    packet = begin(sqlite_store, quick_hall)
    answers = answers_to(packet, at=NOON, knows=lambda view, question: dice.random() < 0.7)
    with sqlite_store.work() as db:
        store_answers(db, quick_hall.learner, answers, received_at=LATER)
    with sqlite_store.look() as db:
        whole = folded(db)
    with sqlite_store.work() as db:
        db.query(AnswerRow).delete()
        rebuild(db)
        parts = [*answers, *dice.sample(answers, 5)]
        dice.shuffle(parts)
        while parts:
            batch, parts = parts[: (size := dice.randint(1, 6))], parts[size:]
            store_answers(db, quick_hall.learner, batch, received_at=LATER)
    with sqlite_store.look() as db:
        assert folded(db) == whole


def test_a_showing_answered_on_two_devices_counts_the_answer_given_first(store: Store, hall: SmallHall) -> None:
    packet = begin(store, hall)
    answers = [answer for answer in answers_to(packet, at=NOON) if answer.sure]
    wrong = next(c.key for q in packet.rounds[0].showings[0].questions if q.kind == "form" for c in q.choices if c.key != q.key)
    late_but_first = replace(answers[0], id=str(uuid.uuid4()), said=wrong, at=answers[0].at - timedelta(seconds=5))
    with store.work() as db:
        store_answers(db, hall.learner, answers[:1], received_at=LATER)
        store_answers(db, hall.learner, [late_but_first], received_at=LATER)
    with store.look() as db:
        tally = db.scalars(select(TallyRow)).all()
        assert len(log_of(db)) == 2
    assert [(row.said_form_id, row.count) for row in tally] == [(int(wrong), 1)]


def test_a_repeat_given_later_counts_nowhere(store: Store, hall: SmallHall) -> None:
    packet = begin(store, hall)
    answers = answers_to(packet, at=NOON)
    first = next(answer for answer in answers if answer.sure)
    wrong = next(c.key for q in packet.rounds[0].showings[0].questions if q.kind == "form" for c in q.choices if c.key != q.key)
    with store.work() as db:
        store_answers(db, hall.learner, answers, received_at=LATER)
    with store.look() as db:
        before = folded(db)
    with store.work() as db:
        repeat = replace(first, id=str(uuid.uuid4()), said=wrong, hint=True, at=first.at + timedelta(minutes=40))
        assert store_answers(db, hall.learner, [repeat], received_at=LATER).stored == (repeat.id,)
    with store.look() as db:
        after = folded(db)
    for fold in ("memory", "tally", "days"):
        assert after[fold] == before[fold]


def test_an_id_is_the_same_in_capitals(store: Store, hall: SmallHall) -> None:
    answer = one(begin(store, hall))
    with store.work() as db:
        store_answers(db, hall.learner, [answer], received_at=LATER)
    with store.work() as db:
        again = store_answers(db, hall.learner, [replace(answer, id=answer.id.upper())], received_at=LATER)
    assert again.known == (answer.id,)


def test_somebody_elses_id_on_ones_own_picture_is_refused_alone(store: Store, hall: SmallHall) -> None:
    theirs = one(begin(store, hall))
    with store.work() as db:
        store_answers(db, hall.learner, [theirs], received_at=LATER)
        db.add(TakenSetRow(account_id=hall.stranger, pair_set_id=hall.pair_set, taken_at=NOON))
        db.flush()
        drill_id = start_drill(db, hall.stranger, drill_id=str(uuid.uuid4()), at=NOON)
        mine = answers_to(playing.the_packet(db, hall.stranger, drill_id, now=NOON), at=NOON)
        stored = store_answers(db, hall.stranger, [replace(mine[0], id=theirs.id), *mine[1:3]], received_at=LATER)
    assert [refused.id for refused in stored.refused] == [theirs.id]
    assert len(stored.stored) == 2


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("showing", 10**6, "not in a drill of yours"),
        ("ask", 7, "has no question 7"),
        ("ask", -1, "has no question -1"),
        ("said", "99999", "among the choices"),
        ("said", "", "among the choices"),
        ("sure", "very", "certain, probable or possible"),
        ("sure", None, "certain, probable or possible"),
        ("seconds", -1.0, "0 or more"),
        ("seconds", float("nan"), "0 or more"),
        ("seconds", float("inf"), "0 or more"),
        ("id", "not-a-uuid", "must be a UUID"),
    ],
)
def test_a_wrong_answer_is_refused_with_a_sentence_and_the_others_are_kept(
    sqlite_store: Store, quick_hall: SmallHall, field: str, value: object, says: str
) -> None:
    answers = [answer for answer in answers_to(begin(sqlite_store, quick_hall), at=NOON) if answer.sure]
    bad = replace(answers[0], **{field: value})  # type: ignore[arg-type]
    with sqlite_store.work() as db:
        stored = store_answers(db, quick_hall.learner, [bad, answers[1]], received_at=LATER)
    assert [one.id for one in stored.refused] == [bad.id]
    assert says in stored.refused[0].why
    assert stored.stored == (answers[1].id,)


def test_a_strangers_answer_to_my_drill_is_refused_and_tells_nothing(store: Store, hall: SmallHall) -> None:
    answer = one(begin(store, hall))
    with store.work() as db:
        stored = store_answers(db, hall.stranger, [answer], received_at=LATER)
    with store.look() as db:
        assert log_of(db) == []
    assert "not in a drill of yours" in stored.refused[0].why


def test_an_id_that_somebody_else_has_used_is_not_taken_for_mine(store: Store, hall: SmallHall) -> None:
    packet = begin(store, hall)
    mine = answers_to(packet, at=NOON)
    with store.work() as db:
        store_answers(db, hall.learner, mine[:1], received_at=LATER)
    with store.work() as db:
        stored = store_answers(db, hall.stranger, mine[:1], received_at=LATER)
    assert stored.known == ()
    assert [refused.id for refused in stored.refused] == [mine[0].id]


def test_an_answer_from_the_future_is_held_to_the_time_it_came(sqlite_store: Store, quick_hall: SmallHall) -> None:
    answer = one(begin(sqlite_store, quick_hall), at=NOON + timedelta(days=400))
    with sqlite_store.work() as db:
        store_answers(db, quick_hall.learner, [answer], received_at=LATER)
    with sqlite_store.look() as db:
        row = db.get_one(AnswerRow, answer.id)
    assert row.at == LATER
    assert row.phone_at == NOON + timedelta(days=400)


def test_an_answer_from_before_the_drill_is_held_to_its_planning(sqlite_store: Store, quick_hall: SmallHall) -> None:
    answer = one(begin(sqlite_store, quick_hall), at=NOON - timedelta(days=400))
    with sqlite_store.work() as db:
        store_answers(db, quick_hall.learner, [answer], received_at=LATER)
    with sqlite_store.look() as db:
        assert db.get_one(AnswerRow, answer.id).at == NOON


def test_a_clock_a_day_ahead_is_taken_off(sqlite_store: Store, quick_hall: SmallHall) -> None:
    day = timedelta(days=1)
    answer = one(begin(sqlite_store, quick_hall), at=NOON + timedelta(minutes=3) + day, clock_ahead=day)
    with sqlite_store.work() as db:
        store_answers(db, quick_hall.learner, [answer], received_at=LATER)
    with sqlite_store.look() as db:
        assert db.get_one(AnswerRow, answer.id).at == NOON + timedelta(minutes=3)


@pytest.mark.parametrize("zone", [timedelta(hours=20), timedelta(hours=-23, seconds=-7.25)])
def test_a_time_in_a_zone_that_no_database_knows_is_kept_as_the_instant_it_is(store: Store, hall: SmallHall, zone: timedelta) -> None:
    answer = one(begin(store, hall), at=(NOON + timedelta(minutes=4)).astimezone(timezone(zone)))
    with store.work() as db:
        store_answers(db, hall.learner, [answer], received_at=LATER)
    with store.look() as db:
        row = db.get_one(AnswerRow, answer.id)
    assert (row.at, row.phone_at) == (NOON + timedelta(minutes=4), NOON + timedelta(minutes=4))


def test_answers_to_a_drill_long_past_are_still_stored(sqlite_store: Store, quick_hall: SmallHall) -> None:
    answer = one(begin(sqlite_store, quick_hall))
    with sqlite_store.work() as db:
        stored = store_answers(db, quick_hall.learner, [answer], received_at=NOON + timedelta(days=90))
    assert stored.stored == (answer.id,)


def test_too_many_at_once_are_refused_as_a_whole(sqlite_store: Store, quick_hall: SmallHall) -> None:
    answer = one(begin(sqlite_store, quick_hall))
    many = [replace(answer, id=str(uuid.uuid4())) for _ in range(MOST_AT_ONCE + 1)]
    with pytest.raises(BadAnswer, match="At most 500"), sqlite_store.work() as db:
        store_answers(db, quick_hall.learner, many, received_at=LATER)
    with sqlite_store.look() as db:
        assert log_of(db) == []


def test_a_round_is_rated_once_all_of_it_is_answered(store: Store, hall: SmallHall) -> None:
    packet = begin(store, hall)
    first = packet.rounds[0]
    asked = {showing.id for showing in first.showings}
    answers = [answer for answer in answers_to(packet, at=NOON) if answer.showing in asked]
    with store.work() as db:
        store_answers(db, hall.learner, answers[:-1], received_at=LATER)
        db.flush()
        assert db.scalars(select(MemoryRow)).all() == []
        store_answers(db, hall.learner, answers[-1:], received_at=LATER)
        memory = db.scalars(select(MemoryRow)).one()
    assert (memory.pair_id, memory.rounds, memory.last_outcome) == (first.pair.id, 1, "held")
