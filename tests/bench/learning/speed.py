"""The rows about speed: scheduling and refolding beside the bare library, and planning a day among a thousand pairs."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from random import Random
from statistics import median

from fsrs import Card, Rating, Scheduler

from drillhall.core.memory import due_day, fold_rounds, next_memory
from drillhall.core.rounds import plan_drill
from drillhall.core.rounds.spare import plan_spare
from drillhall.core.values import DrillWish, Memory, Outcome, PairToday, RatedRound
from tests.bench.rows import Measured, Row, Size, at_most, at_most_times, interleaved

TODAY = date(2031, 5, 4)
ROUNDS, TIMES = 200, 20
TOLD = (Outcome.HELD, Outcome.HELD, Outcome.MISSED, Outcome.EASE)


def speed_rows(size: Size) -> Iterator[Row]:
    yield Row(f"learning: refold {ROUNDS} rounds beside the bare library", "s", at_most_times(2), lambda: _refold(size.of(TIMES, 3)))
    yield Row("learning: schedule a round beside the bare library", "s", at_most_times(2), lambda: _schedule(size.of(4000, 400)))
    yield Row(
        "learning: plan a day among 1,000 pairs", "ms", at_most(20), lambda: Measured(_planning_ms(1000, rounds=8, times=size.of(9, 3)))
    )
    yield Row(
        "learning: plan it after 200 rounds a pair beside 2",
        "ms",
        at_most_times(1.25),
        lambda: Measured(_planning_ms(1000, rounds=200, times=9), _planning_ms(1000, rounds=2, times=9)),
    )


def _refold(times: int) -> Measured:
    days = [TODAY + timedelta(days=3 * number) for number in range(ROUNDS)]
    rounds = [RatedRound(day, TOLD[number % 4]) for number, day in enumerate(days)]
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    noons = [datetime(day.year, day.month, day.day, 12, tzinfo=UTC) for day in days]
    ratings = [(Rating.Good, Rating.Good, Rating.Again, Rating.Easy)[number % 4] for number in range(ROUNDS)]

    def bare() -> None:
        for _ in range(times):
            card = Card(card_id=1, due=noons[0])
            for rating, noon in zip(ratings, noons, strict=True):
                card, _ = scheduler.review_card(card, rating, noon)

    def ours() -> None:
        for _ in range(times):
            memory = fold_rounds(rounds)
            assert memory is not None
            due_day(memory, account_id=1, pair_id=1)

    return interleaved(bare, ours)


def _schedule(times: int) -> Measured:
    """One round rated and its day of return told, beside one review of the library; ours tells the day by a spread of its own."""
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    first, later = (datetime(2031, 5, day, 12, tzinfo=UTC) for day in (4, 12))
    card, _ = scheduler.review_card(Card(card_id=1, due=first), Rating.Good, first)
    memory = next_memory(None, Outcome.HELD, day=first.date())

    def bare() -> None:
        for _ in range(times):
            scheduler.review_card(card, Rating.Good, later)

    def ours() -> None:
        for _ in range(times):
            due_day(next_memory(memory, Outcome.HELD, day=later.date()), account_id=1, pair_id=1)

    return interleaved(bare, ours)


def _planning_ms(count: int, *, rounds: int, times: int) -> float:
    pairs = [
        PairToday(
            pair_id=number,
            first_form_id=2 * number,
            second_form_id=2 * number + 1,
            memory=Memory(5.0, 5.0, TODAY - timedelta(days=9), rounds=rounds) if number % 4 else None,
            met=number % 4 > 0,
            due_day=TODAY + timedelta(days=number % 9 - 4) if number % 4 else None,
            mixup_rate=0.05 + number % 10 / 20,
            recent_pictures=float(number % 7),
        )
        for number in range(1, count + 1)
    ]
    took = []
    for seed in range(times):
        began = time.perf_counter()
        dice, wish = Random(seed), DrillWish(minutes=20)
        plan_spare(plan_drill(pairs, wish, today=TODAY, dice=dice), pairs, wish, today=TODAY, dice=dice)
        took.append(1000 * (time.perf_counter() - began))
    return median(took)
