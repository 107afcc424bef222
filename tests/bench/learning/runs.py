"""Takes every course that the table needs, on both cores, and keeps what came out by regime, policy and club."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache
from multiprocessing import get_context
from typing import Any

import numpy as np
from scipy.stats import t as student

from drillhall.core.forecast import RecalledRound
from drillhall.core.memory import recall
from drillhall.core.rounds.misses import AfterMiss
from tests.bench.learning.course import take_course
from tests.bench.learning.digits import digits_world
from tests.bench.learning.hall import START, Hall, Ways
from tests.bench.learning.losing import guess_for_a_year, new_after_due, weakest_first
from tests.bench.learning.numbers import OUTING_DAY, TEST_DAY
from tests.bench.learning.policies import Doubling, EqualTurns, MemoryAPicture, Policy, RandomOrder
from tests.bench.learning.world import Array, World, make_world

Made = Callable[[World], Policy]
Course = tuple[str, str, int]
"""Regime, name of the policy, seed."""

REGIMES = {"A": (0.0, 60), "B": (0.0, 15), "C": (0.5, 15), "digits": (0.0, 6), "digits, half known": (0.5, 6)}
MANNERS = ("unsure", "quick", "deducing")
PLAIN: dict[str, Made] = {
    "random": RandomOrder,
    "doubling": Doubling,
    "a memory a picture": MemoryAPicture,
    "equal turns, unseen first": EqualTurns,
    "oracle": lambda world: EqualTurns(world, among=~world.known),
}
MARKS = {"know_marks": True}
ENGINE: dict[str, dict[str, Any]] = {
    "ours": {},
    "ours at 12": {"pictures_a_day": 12},
    "ours at 9": {"pictures_a_day": 9},
    "ours with the date": {"knows_outing": True},
    "weakest first": {"plan": weakest_first},
    "new after due": {"plan": new_after_due},
    "rounds of 4": {"round_length": 4},
    "marks told, no order": {**MARKS, "marks_first": False},
    "marks first": MARKS,
    "ending at a miss": {"after_miss": AfterMiss.END, "round_length": 3},
    "staying after a miss": {"after_miss": AfterMiss.STAY, "round_length": 3},
    "marks first, ending at a miss": {**MARKS, "after_miss": AfterMiss.END, "round_length": 3},
    "trials for pairs she says she knows": {"claims": True},
    "neither and thirds": {"neither": True, "third_share": 0.05},
}
WANTED = {
    "A": ("random", "doubling", "a memory a picture", "equal turns, unseen first", "ours", "rounds of 4"),
    "B": (
        *("random", "doubling", "a memory a picture", "equal turns, unseen first", "ours", "weakest first", "new after due"),
        *("marks told, no order", "marks first", "ending at a miss", "staying after a miss", "marks first, ending at a miss"),
    ),
    "C": (*tuple(PLAIN), *(name for name in ENGINE if name != "rounds of 4")),
    "digits": ("random", "doubling", "a memory a picture", "ours"),
    "digits, half known": ("random", "doubling", "a memory a picture", "ours"),
}


@dataclass(frozen=True)
class Taken:
    """What a course came to, (club,) each, and for the hall its rated rounds; `outing`: right rates by (learner, pair) on that day."""

    mean: Array
    weakest: Array
    three_weakest: Array
    on_outing: Array
    off_outing: Array
    rounds: tuple[RecalledRound, ...] = ()


@dataclass(frozen=True)
class Difference:
    """Ours against another over the same clubs, in points: mean and 95 % interval."""

    gain: float
    low: float
    high: float


def difference(ours: Array, other: Array) -> Difference:
    """Compare club by club, for each club met the same luck under both."""
    apart = ours - other
    half = float(student.ppf(0.975, len(apart) - 1) * apart.std(ddof=1) / np.sqrt(len(apart)))
    return Difference(float(apart.mean()), float(apart.mean()) - half, float(apart.mean()) + half)


@cache
def all_courses(seed: int, seeds: int, clubs: int, guessers: int) -> dict[tuple[str, str], Any]:
    """Take every course once; both cores work, and what is asked for twice is taken once."""
    jobs: list[tuple[Any, ...]] = [
        (regime, name, seed + number, clubs) for number in range(seeds) for regime in WANTED for name in WANTED[regime]
    ]
    jobs += [("guesser", manner, seed + number, clubs) for manner in MANNERS for number in range(guessers)]
    with get_context("spawn").Pool(os.cpu_count() or 1) as pool:
        came = pool.map(_take, jobs, chunksize=1)
    found: dict[tuple[str, str], Any] = {}
    for job, result in zip(jobs, came, strict=True):
        found.setdefault(job[:2], []).append(result)
    return {key: results if key[0] == "guesser" else _joined(results) for key, results in found.items()}


def _joined(results: list[Taken]) -> Taken:
    arrays = {name: np.concatenate([getattr(one, name) for one in results]) for name in ("mean", "weakest", "three_weakest")}
    arrays |= {name: np.concatenate([getattr(one, name) for one in results]) for name in ("on_outing", "off_outing")}
    return Taken(**arrays, rounds=tuple(one for result in results for one in result.rounds))


def _take(job: tuple[str, str, int, int]) -> Any:
    regime, name, seed, clubs = job
    if regime == "guesser":
        return guess_for_a_year(make_world(seed, clubs=1, members=1), name, seed)
    known, pictures_a_day = REGIMES[regime]
    world = digits_world(seed, known=known, clubs=clubs) if regime.startswith("digits") else make_world(seed, known=known, clubs=clubs)
    half = np.argsort(world.order, 1) % 2 == 0
    halls: list[Hall] = []

    def make(world: World) -> Policy:
        if name in PLAIN:
            return PLAIN[name](world)
        hall = Hall(world, _ways(name, world, pictures_a_day))
        halls.append(hall)
        return hall

    pictures_a_day = ENGINE.get(name, {}).get("pictures_a_day", pictures_a_day)
    tested = take_course(world, make, pictures_a_day=pictures_a_day, test_days=(OUTING_DAY, TEST_DAY))
    last, outing = tested[TEST_DAY], tested[OUTING_DAY].pairs
    by_club = [np.flatnonzero(world.club == club) for club in range(world.clubs)]
    return Taken(
        *(np.array([of[members].mean() for members in by_club]) for of in (last.mean, last.weakest, last.three_weakest)),
        on_outing=np.array([outing[members][half[members]].mean() for members in by_club]),
        off_outing=np.array([outing[members][~half[members]].mean() for members in by_club]),
        rounds=_recalled(halls[0], seed) if halls and name == "ours" and regime == "C" else (),
    )


def _ways(name: str, world: World, pictures_a_day: int) -> Ways:
    said = dict(ENGINE[name])
    if said.get("claims"):
        dice = np.random.default_rng(world.draws + 1).random(world.known.shape)
        said["claims"] = np.where(world.known, dice < 0.8, dice < 0.1)
    return replace(Ways(pictures_a_day=pictures_a_day), **said)


def _recalled(hall: Hall, seed: int) -> tuple[RecalledRound, ...]:
    """Return what recall the scheduler gave before each rated round that followed another."""
    return tuple(
        RecalledRound(1000 * seed + learner, recall(before, day=START + timedelta(days=day)), outcome.was_held)
        for learner, _, day, before, outcome in hall.rated
        if before is not None
    )
