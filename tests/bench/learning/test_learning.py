"""The bench measures the real engine: its fast twins choose as core does, and its learner knows nothing of the scheduler."""

from __future__ import annotations

import ast
import os
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from drillhall.core.confusion import Misses, mixup_rate, prior_rate
from drillhall.core.fitting import FittingOffer
from drillhall.core.memory import USUAL_PARAMETERS, next_memory, recall
from drillhall.core.rounds.misses import AfterMiss
from drillhall.core.values import Memory, Outcome, RatedRound, RoundNeeds
from tests.bench.learning.asking import Asking
from tests.bench.learning.course import take_course
from tests.bench.learning.hall import START, Hall, Ways, lore_of
from tests.bench.learning.learner import Minds
from tests.bench.learning.losing import guess_for_a_year
from tests.bench.learning.policies import EqualTurns, RandomOrder, Shown
from tests.bench.learning.rates import WeeklyMisses
from tests.bench.learning.runs import ENGINE, MANNERS, MORE_MANNERS, PLAIN, THREADS, WANTED, one_thread_each, resampled
from tests.bench.learning.table import IDEAS, ORACLES, TABLE, calibration_error, rows
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


def test_ours_is_the_engine_as_it_is_shipped(world: World) -> None:
    ours = Ways()
    assert ours.marks_first is RoundNeeds(lore_of(world, 0), 3).marks_first
    assert (ours.after_miss, ours.asking) == (AfterMiss.END, Asking.NOT_TOLD)
    assert ENGINE["ours"] == {}


def test_a_round_that_ends_early_leaves_its_pictures_to_others(world: World) -> None:
    shown = {}
    for after_miss in (AfterMiss.END, AfterMiss.FINISH):
        hall = Hall(world, Ways(pictures_a_day=9, after_miss=after_miss))
        take_course(world, lambda _, hall=hall: hall, pictures_a_day=9, test_days=(10,))
        shown[after_miss] = hall.begun.sum(1)
    assert (shown[AfterMiss.END] > shown[AfterMiss.FINISH]).all()


@pytest.fixture
def one_showing(world: World) -> dict[str, np.ndarray]:
    who = np.arange(world.learners)
    return {"who": who, "pair": who % world.pair_count, "form": who % 2, "picture": who}


def test_a_prompt_draws_attention_to_its_trait_and_no_prompt_changes_nothing(world: World, one_showing: dict[str, np.ndarray]) -> None:
    luck, nobody = world.luck(0)[:, 0], np.zeros(world.learners, bool)
    weights = {}
    for trait in (None, -1, 2):
        minds = Minds(world)
        asked = None if trait is None else np.full(world.learners, trait)
        minds.show(**one_showing, minute=0.0, luck=luck, neither=nobody, asked=asked)
        weights[trait] = minds._weights(one_showing["who"], one_showing["pair"])
    assert np.array_equal(weights[None], weights[-1])
    assert (weights[2][:, 2] > weights[None][:, 2]).all()
    assert np.delete(weights[2], 2, axis=1).sum() < np.delete(weights[None], 2, axis=1).sum()
    assert weights[2].sum(1) == pytest.approx(weights[None].sum(1))


@pytest.mark.parametrize("asking", [Asking.AS_PLANNED, Asking.ANY_TRAIT, Asking.ALWAYS])
def test_only_the_engine_s_own_prompts_and_what_replaces_them_are_asked(world: World, asking: Asking) -> None:
    hall = Hall(world, Ways(pictures_a_day=6, asking=asking))
    found: list[np.ndarray] = []
    choose = hall.choose

    def watched(place: int, who: np.ndarray, luck: np.ndarray) -> Shown:
        shown = choose(place, who, luck)
        assert shown.asked is not None
        found.append(np.stack([shown.asked, 2 + world.pairs[shown.pair, 0] % 3, 2 + world.pairs[shown.pair, 1] % 3]))
        return shown

    hall.choose = watched  # type: ignore[method-assign]
    take_course(world, lambda _: hall, pictures_a_day=6, test_days=(3,))
    asked, first, second = np.concatenate(found, 1)
    telling = (asked == first) | (asked == second)
    if asking is Asking.AS_PLANNED:
        assert (telling | (asked < 0)).all()
        assert 0 < (asked < 0).sum() < len(asked)
    elif asking is Asking.ALWAYS:
        assert telling.all()
    else:
        assert not telling[asked >= 0].all()


def test_equal_turns_with_marks_show_first_what_can_be_seen(world: World) -> None:
    seen = []
    for marks in (False, True):
        policy = EqualTurns(world, marks=marks)
        policy.begin(0, np.arange(world.learners))
        hidden = []
        for place in range(12):
            shown = policy.choose(place, np.arange(world.learners), world.luck(0)[:, place])
            of = world.pairs[shown.pair, shown.form]
            there = world.visible[world.club[shown.who], of, shown.picture]
            hidden.append((~np.take_along_axis(there, world.pairs[shown.pair, :2] % 3, 1)).mean())
        seen.append(np.mean(hidden))
    assert seen[1] < 0.5 * seen[0]


@pytest.mark.parametrize("manner", [*MANNERS, *MORE_MANNERS])
def test_a_guesser_meets_pairs_and_holds_few(manner: str) -> None:
    share, there, met = guess_for_a_year(make_world(5, clubs=1, members=1), manner, 5, days=30)
    assert 0 <= share < 0.05
    assert there <= 1
    assert met == 20


def test_fitted_parameters_are_taken_and_the_pairs_folded_with_them(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    own = tuple(1.1 * value for value in USUAL_PARAMETERS[:4]) + USUAL_PARAMETERS[4:]

    def offer(logs: dict[int, list[RatedRound]]) -> FittingOffer | None:
        return FittingOffer(own, 400, 100, 0.6, 0.5) if len(logs) > 6 else None

    monkeypatch.setattr("tests.bench.learning.hall.offer_fitting", offer)
    hall = Hall(world, Ways(pictures_a_day=9, fit_on=5))
    take_course(world, lambda _: hall, pictures_a_day=9, test_days=(5,))
    before = [dict(kept) for kept in hall.memories]
    hall.begin(5, np.arange(0))
    took = [parameters == own for parameters in hall.parameters]
    assert any(took)
    for kept, earlier, taken in zip(hall.memories, before, took, strict=True):
        assert (kept == earlier) is not taken


def test_every_course_that_the_table_reads_is_taken() -> None:
    read = {(row.regime, name) for row in (*TABLE, *IDEAS) for name in (row.ours, row.other)}
    read |= {("C", name) for pair in ORACLES for name in pair}
    taken = {(regime, name) for regime, names in WANTED.items() for name in names}
    assert read <= taken
    assert taken - read == {("C", "ours at 12"), ("C", "ours at 9")}  # read by the rows of pictures needed
    assert {name for _, name in taken} == {*PLAIN, *ENGINE}


def test_processes_work_in_one_thread_each(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(THREADS[0], "7")
    monkeypatch.delenv(THREADS[1], raising=False)
    with one_thread_each():
        assert {os.environ[name] for name in THREADS} == {"1"}
    assert os.environ[THREADS[0]] == "7"
    assert THREADS[1] not in os.environ


def test_an_interval_of_what_varies_holds_its_mean_and_of_what_does_not_is_a_point() -> None:
    values = np.array([1.0, 2.0, 3.0, 4.0])
    low, high = resampled(lambda drawn: float(values[drawn].mean()), 4)
    assert 1 <= low < 2.5 < high <= 4
    assert resampled(lambda drawn: 5.0, 4) == (5.0, 5.0)


def test_no_rounds_make_the_worst_calibration_error() -> None:
    assert calibration_error(()) == 1.0


def test_every_row_has_a_name_of_its_own_under_its_subject() -> None:
    names = [row.name for row in rows(Size(quick=True))]
    assert len(set(names)) == len(names)
    assert all(name.startswith("learning: ") for name in names)
