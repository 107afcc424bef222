"""The bench measures the real engine: its fast twins choose as core does, and its learner knows nothing of the scheduler."""

from __future__ import annotations

import ast
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from drillhall.core.confusion import Misses, mixup_rate, prior_rate
from drillhall.core.memory import next_memory, recall
from drillhall.core.values import Memory, Outcome
from tests.bench.learning.course import take_course
from tests.bench.learning.hall import START, Hall, Ways
from tests.bench.learning.learner import Minds
from tests.bench.learning.policies import RandomOrder, Shown
from tests.bench.learning.rates import WeeklyMisses
from tests.bench.learning.table import calibration_error, rows
from tests.bench.learning.twin import Schedule
from tests.bench.learning.world import World, make_world
from tests.bench.rows import Size

TOLD = (Outcome.MISSED, Outcome.UNSURE, Outcome.HELD, Outcome.EASE)


@pytest.fixture(scope="module")
def world() -> World:
    return make_world(3, clubs=2, members=3)


@pytest.mark.parametrize("seed", range(6))
def test_the_twin_of_the_scheduler_is_core_s_memory(seed: int) -> None:
    dice = np.random.default_rng(seed)
    schedule, memory, day = Schedule(1, 1), None, 0
    for _ in range(12):
        rating = int(dice.integers(1, 5))
        if memory is not None:
            assert schedule.recall(day)[0, 0] == pytest.approx(recall(memory, day=START + timedelta(days=day)), rel=1e-12)
        schedule.rate(np.array([0]), np.array([0]), np.array([rating]), day)
        memory = next_memory(memory, TOLD[rating - 1], day=START + timedelta(days=day))
        assert isinstance(memory, Memory)
        assert schedule.stability[0, 0] == pytest.approx(memory.stability_days, rel=1e-12)
        assert schedule.difficulty[0, 0] == pytest.approx(memory.difficulty, rel=1e-12)
        day += int(dice.choice([1, 2, 5, 13]))


def test_the_rates_for_all_at_once_are_core_s(world: World) -> None:
    dice = np.random.default_rng(1)
    counted = WeeklyMisses(world, weeks=9)
    for day in range(0, 40, 3):
        who = np.arange(world.learners)
        shown = Shown(who, dice.integers(0, world.pair_count, len(who)), dice.integers(0, 2, len(who)), who, who < 0)
        counted.count(day, shown, dice.random(len(who)) < 0.6, who >= 0)
    rates = counted.rates(40)
    learner, pair, form = 4, int(np.argmax(counted.shown[4].sum((1, 2)))), 0
    club = np.flatnonzero(world.club == world.club[learner])

    def misses(missed: np.ndarray, shown: np.ndarray) -> Misses:
        return Misses(float(missed.sum()), float(shown.sum()))

    prior = prior_rate(
        own=misses(counted.missed[learner], counted.shown[learner]),
        pair=misses(counted.missed[club, pair, form], counted.shown[club, pair, form]),
        everyone=misses(counted.missed[club], counted.shown[club]),
    )
    weights = 0.5 ** ((40 // 7 - np.arange(9)).clip(0) / 4)
    missed, shown = (float((of[learner, pair, form] * weights).sum()) for of in (counted.missed, counted.shown))
    assert rates[learner, pair, form] == pytest.approx(mixup_rate(missed, shown, prior=prior))


def test_the_world_and_its_learner_import_nothing_of_the_scheduler() -> None:
    folder = Path(__file__).parent
    for name in ("numbers.py", "world.py", "learner.py", "digits.py"):
        tree = ast.parse((folder / name).read_text(encoding="utf-8"))
        imported = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        imported |= {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
        assert not any(module.startswith(("drillhall", "fsrs")) for module in imported), name


def test_the_same_seed_gives_the_same_course(world: World) -> None:
    one, other = (take_course(world, RandomOrder, pictures_a_day=6, test_days=(5,))[5].pairs for _ in range(2))
    assert np.array_equal(one, other)


def test_who_is_shown_nothing_guesses(world: World) -> None:
    assert Minds(world).right_rates().mean() == pytest.approx(0.5, abs=1e-6)


def test_every_learner_is_shown_as_many_pictures_under_the_engine(world: World) -> None:
    hall = Hall(world, Ways(pictures_a_day=9))
    take_course(world, lambda _: hall, pictures_a_day=9, test_days=(10,))
    assert hall.misses.shown.sum((1, 2, 3)).tolist() == (9 * world.attends[:, :10].sum(1)).tolist()


def test_no_rounds_make_the_worst_calibration_error() -> None:
    assert calibration_error(()) == 1.0


def test_every_row_has_a_name_of_its_own_under_its_subject() -> None:
    names = [row.name for row in rows(Size(quick=True))]
    assert len(set(names)) == len(names)
    assert all(name.startswith("learning: ") for name in names)
