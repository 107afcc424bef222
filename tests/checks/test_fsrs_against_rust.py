"""The memory against an implementation that shares no line with it: fsrs-rs-python 0.9 (Rust), over thousands of random logs.

Both hold the 21 default parameters of FSRS, version 6; the Rust one stores them, and counts, in 32-bit floats. Measured over 2,000
logs of 3 to 12 rounds: stability differs by at most 5.1e-6 of itself, difficulty by at most 1.2e-6, whole-day intervals never.
Tolerance: 1e-5 relative for stability, 1e-5 for difficulty; an interval may differ only where it lies on the edge of rounding.
They part beyond 36,500 days, where the Rust one caps stability; the logs stay below.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest
from fsrs import Card, Rating, Scheduler
from fsrs.scheduler import DEFAULT_PARAMETERS as PYTHON_PARAMETERS
from fsrs_rs_python import DEFAULT_PARAMETERS as RUST_PARAMETERS
from fsrs_rs_python import FSRS, FSRSItem, FSRSReview

from drillhall.core.memory import interval_days, next_memory
from drillhall.core.values import Memory, Outcome

LOGS = 2000
STABILITY_REL = 1e-5
DIFFICULTY_ABS = 1e-5
EDGE_REL = 2e-5
LONGEST_DAYS = 20_000
START = date(2020, 1, 1)
TARGETS = (0.70, 0.80, 0.85, 0.90, 0.95, 0.97)
OUTCOME = {1: Outcome.MISSED, 2: Outcome.UNSURE, 3: Outcome.HELD, 4: Outcome.EASE}

Log = list[tuple[int, int]]
"""Rounds in order: what the scheduler is told (1 to 4), and the days since the round before."""


def make_logs(dice: Random, *, same_day_share: float) -> list[Log]:
    """Draw logs of 3 to 12 rounds; gaps from a day to more than a year, as they come when a learner is early, late or away."""
    logs = []
    for _ in range(LOGS):
        log = [(dice.randint(1, 4), 0)]
        for _ in range(dice.randint(2, 11)):
            gap = 0 if dice.random() < same_day_share else max(1, round(dice.lognormvariate(1.8, 1.4)))
            log.append((dice.choices((1, 2, 3, 4), (2, 1, 5, 2))[0], min(gap, 800)))
        logs.append(log)
    return logs


def states_in_rust(logs: Sequence[Log]) -> list[list[tuple[float, float]]]:
    """Return stability and difficulty after each round, by the Rust library."""
    rust = FSRS(RUST_PARAMETERS)
    items = [FSRSItem([FSRSReview(told, gap) for told, gap in log]) for log in logs]
    return [[(state.stability, state.difficulty) for state in rust.historical_memory_states(item)] for item in items]


def fold_by_us(log: Log) -> list[Memory]:
    """Return our memory after each round."""
    memories: list[Memory] = []
    day = START
    for told, gap in log:
        day += timedelta(days=gap)
        memories.append(next_memory(memories[-1] if memories else None, OUTCOME[told], day=day))
    return memories


def fold_by_library(log: Log, scheduler: Scheduler) -> list[Card]:
    """Return the Python library's state after each round; rounds of one day are some minutes apart."""
    at = datetime(2020, 1, 1, 12, tzinfo=UTC)
    card = Card(card_id=1, due=at)
    cards = []
    for place, (told, gap) in enumerate(log):
        at += timedelta(days=gap, minutes=place if gap == 0 else 0)
        card, _ = scheduler.review_card(card, Rating(told), at)
        cards.append(card)
    return cards


def assert_same_state(ours: tuple[float, float], theirs: tuple[float, float]) -> None:
    """Compare stability and difficulty within what 32-bit floats allow."""
    assert ours[0] == pytest.approx(theirs[0], rel=STABILITY_REL)
    assert ours[1] == pytest.approx(theirs[1], abs=DIFFICULTY_ABS)


def test_both_hold_the_same_parameters() -> None:
    assert len(PYTHON_PARAMETERS) == len(RUST_PARAMETERS) == 21
    assert list(PYTHON_PARAMETERS) == pytest.approx(RUST_PARAMETERS, abs=1.2e-7)


def test_our_memory_agrees_over_random_logs() -> None:
    logs = make_logs(Random(20), same_day_share=0.0)
    rounds = 0
    for log, theirs in zip(logs, states_in_rust(logs), strict=True):
        for memory, state in zip(fold_by_us(log), theirs, strict=True):
            if state[0] > LONGEST_DAYS:
                break
            assert_same_state((memory.stability_days, memory.difficulty), state)
            rounds += 1
    assert rounds > 6 * LOGS


@pytest.mark.parametrize("same_day_share", [0.3, 1.0])
def test_library_agrees_over_random_logs_with_rounds_of_one_day(same_day_share: float) -> None:
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    logs = make_logs(Random(21), same_day_share=same_day_share)
    rounds = 0
    for log, theirs in zip(logs, states_in_rust(logs), strict=True):
        for card, state in zip(fold_by_library(log, scheduler), theirs, strict=True):
            assert card.stability is not None
            assert card.difficulty is not None
            if state[0] > LONGEST_DAYS:
                break
            assert_same_state((card.stability, card.difficulty), state)
            rounds += 1
    assert rounds > 6 * LOGS


def test_whole_day_intervals_agree_at_every_target() -> None:
    rust = FSRS(RUST_PARAMETERS)
    compared = 0
    on_the_edge = 0
    for log in make_logs(Random(22), same_day_share=0.0)[:600]:
        for memory in fold_by_us(log):
            for target in TARGETS:
                unrounded = rust.next_interval(memory.stability_days, target, 3)
                theirs = min(max(round(unrounded), 1), 36_500)
                ours = interval_days(memory, target_recall=target)
                compared += 1
                if ours != theirs:
                    assert abs(unrounded % 1 - 0.5) <= EDGE_REL * unrounded
                    on_the_edge += 1
    assert on_the_edge < compared / 500


def test_our_fold_is_the_python_library_to_the_last_bit() -> None:
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    for log in make_logs(Random(23), same_day_share=0.0):
        for memory, card in zip(fold_by_us(log), fold_by_library(log, scheduler), strict=True):
            assert (memory.stability_days, memory.difficulty) == (card.stability, card.difficulty)


@pytest.mark.parametrize("target", TARGETS)
def test_our_interval_is_the_python_library_s(target: float) -> None:
    scheduler = Scheduler(desired_retention=target, learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    for log in make_logs(Random(24), same_day_share=0.0)[:300]:
        for memory, card in zip(fold_by_us(log), fold_by_library(log, scheduler), strict=True):
            assert card.last_review is not None
            assert interval_days(memory, target_recall=target) == (card.due - card.last_review).days


def test_a_wrong_day_count_would_be_noticed() -> None:
    log = [(3, 0), (3, 2), (3, 11)]
    [theirs] = states_in_rust([[(3, 0), (3, 2), (3, 12)]])
    with pytest.raises(AssertionError):
        assert_same_state((fold_by_us(log)[-1].stability_days, fold_by_us(log)[-1].difficulty), theirs[-1])
