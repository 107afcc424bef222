"""Takes every course that the table needs, on both cores, and keeps what came out by regime, policy and club."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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
from tests.bench.learning.asking import Asking
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
MORE_MANNERS = ("one name", "in turns")
FITTED_ON = 35
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
PLAIN: dict[str, Made] = {
    "random": RandomOrder,
    "doubling": Doubling,
    "a memory a picture": MemoryAPicture,
    "equal turns, unseen first": EqualTurns,
    "equal turns, marked pictures first": lambda world: EqualTurns(world, marks=True),
    "an oracle": lambda world: EqualTurns(world, among=~world.known),
    "an oracle with marked pictures first": lambda world: EqualTurns(world, among=~world.known, marks=True),
}
ENGINE: dict[str, dict[str, Any]] = {
    "ours": {},
    "ours, no marks told": {"know_marks": False},
    "ours at 12": {"pictures_a_day": 12},
    "ours at 9": {"pictures_a_day": 9},
    "ours with the date": {"knows_outing": True},
    "ours with fitted parameters": {"fit_on": FITTED_ON},
    "weakest first": {"plan": weakest_first},
    "new after due": {"plan": new_after_due},
    "finishing a missed round": {"after_miss": AfterMiss.FINISH},
    "staying after a miss": {"after_miss": AfterMiss.STAY},
    "trials for pairs she says she knows": {"claims": True},
    "neither and thirds": {"neither": True, "third_share": 0.05},
    "no likeness of background": {"know_background": False},
    "prompts as planned": {"asking": Asking.AS_PLANNED},
    "prompts for any trait": {"asking": Asking.ANY_TRAIT},
    "prompts on every picture": {"asking": Asking.ALWAYS},
}
WANTED = {
    "A": (
        *("random", "doubling", "a memory a picture", "equal turns, unseen first", "equal turns, marked pictures first"),
        *("ours", "ours with fitted parameters"),
    ),
    "B": (
        *("random", "doubling", "a memory a picture", "equal turns, unseen first", "equal turns, marked pictures first"),
        *("ours", "ours, no marks told", "weakest first", "new after due", "finishing a missed round", "staying after a miss"),
        *("no likeness of background", "prompts as planned", "prompts for any trait", "prompts on every picture"),
    ),
    "C": (
        *tuple(PLAIN),
        *("ours", "ours, no marks told", "ours at 12", "ours at 9", "ours with the date", "weakest first", "new after due"),
        *("finishing a missed round", "trials for pairs she says she knows", "neither and thirds"),
        *("prompts as planned", "prompts for any trait"),
    ),
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


def resampled(find: Callable[[Array], float], count: int, *, times: int = 400) -> tuple[float, float]:
    """Return a 95 % interval of what `find` makes of places drawn from so many with replacement; the throws are always the same."""
    dice = np.random.default_rng(7)
    found = [find(dice.integers(count, size=count)) for _ in range(times)]
    low, high = np.quantile(found, (0.025, 0.975))
    return float(low), float(high)


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
    jobs += [("guesser", manner, seed + number, clubs) for manner in (*MANNERS, *MORE_MANNERS) for number in range(guessers)]
    jobs.sort(key=lambda job: -REGIMES.get(job[0], (0, 0))[1])
    with one_thread_each(), get_context("spawn").Pool(os.cpu_count() or 1) as pool:
        came = pool.map(_take, jobs, chunksize=1)
    found: dict[tuple[str, str], Any] = {}
    for job, result in zip(jobs, came, strict=True):
        found.setdefault(job[:2], []).append(result)
    return {key: results if key[0] == "guesser" else _joined(results) for key, results in found.items()}


@contextmanager
def one_thread_each() -> Iterator[None]:
    """Let each process that is started meanwhile work in one thread: with a process a core, threads of the matrix library only queue."""
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    yield
    for name, value in before.items():
        if value is None:
            del os.environ[name]
        else:
            os.environ[name] = value


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
