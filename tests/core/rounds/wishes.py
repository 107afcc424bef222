"""Pairs and wishes for the tests of a day's plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from random import Random

from drillhall.core.rounds import plan_drill
from drillhall.core.values import DrillWish, Memory, PairToday, PlannedRound

TODAY = date(2031, 5, 4)
YESTERDAY, TOMORROW = TODAY - timedelta(days=1), TODAY + timedelta(days=1)


def new(pair_id: int, **more: object) -> PairToday:
    """A pair never met; its forms are its own."""
    return replace(PairToday(pair_id, 2 * pair_id, 2 * pair_id + 1, stage=(0, pair_id)), **more)


def met(pair_id: int, *, due: date = TODAY, **more: object) -> PairToday:
    """A pair met long ago, due today unless another day is said."""
    memory = Memory(stability_days=5, difficulty=5, last_day=date(2031, 4, 1), rounds=4)
    return replace(new(pair_id), **{"met": True, "memory": memory, "due_day": due, "mixup_rate": 0.2, **more})


def plan(pairs: Sequence[PairToday], wish: DrillWish | None = None, seed: int = 1) -> tuple[PlannedRound, ...]:
    return plan_drill(pairs, wish or DrillWish(), today=TODAY, dice=Random(seed))


def wish_for(rounds: int, **more: object) -> DrillWish:
    """A wish whose time is up after so many rounds of known pairs: three pictures each, at ten seconds a picture."""
    return DrillWish(minutes=rounds * 30 / 60, seconds_a_showing=10.0, round_length=3, **more)
