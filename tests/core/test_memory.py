"""The memory of a pair: days in, days out, in order, and nothing of the library to be seen outside."""

from __future__ import annotations

import ast
import math
import random
from dataclasses import astuple, replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import drillhall
from drillhall.core.memory import (
    DEFAULT_TARGET,
    HIGHEST_TARGET,
    LONGEST_INTERVAL_DAYS,
    LOWEST_TARGET,
    check_target_recall,
    due_day,
    fold_rounds,
    interval_days,
    next_memory,
    recall,
)
from drillhall.core.values import Memory, Outcome, RatedRound
from drillhall.errors import Invalid

DAY = date(2031, 3, 30)  # clocks go forward in much of Europe, so this local day has 23 hours
OUTCOMES = st.sampled_from(list(Outcome))
TARGETS = st.floats(LOWEST_TARGET, HIGHEST_TARGET)
MEMORIES = st.builds(
    Memory,
    stability_days=st.floats(0.001, 40_000),
    difficulty=st.floats(1, 10),
    last_day=st.dates(date(2020, 1, 1), date(2100, 1, 1)),
    rounds=st.integers(1, 500),
)


@st.composite
def logs(draw: st.DrawFn, least: int = 1) -> list[RatedRound]:
    """Rated rounds of one pair on days in order."""
    gaps = draw(st.lists(st.integers(1, 400), min_size=least, max_size=12))
    day = draw(st.dates(date(2020, 1, 1), date(2040, 1, 1)))
    rounds = []
    for gap in gaps:
        day += timedelta(days=gap)
        rounds.append(RatedRound(day, draw(OUTCOMES)))
    return rounds


def held(days: int, *, stability_days: float = 10.0) -> Memory:
    """A memory held for so many rounds."""
    return Memory(stability_days=stability_days, difficulty=5.0, last_day=DAY, rounds=days, held_running=days)


def test_first_round_begins_the_counts() -> None:
    memory = next_memory(None, Outcome.MISSED, day=DAY)
    assert (memory.last_day, memory.rounds, memory.held_running, memory.last) == (DAY, 1, 0, Outcome.MISSED)


def test_evening_and_next_morning_are_two_days() -> None:
    # The library, left to itself, takes 13 hours for the same day and leaves stability at 2.3065 (measured with fsrs 6.3.2).
    evening = next_memory(None, Outcome.HELD, day=DAY)
    morning = next_memory(evening, Outcome.HELD, day=DAY + timedelta(days=1))
    assert morning.stability_days == pytest.approx(7.3153, abs=5e-5)


def test_a_better_outcome_makes_a_longer_memory() -> None:
    before = fold_rounds([RatedRound(DAY, Outcome.HELD), RatedRound(DAY + timedelta(days=3), Outcome.HELD)])
    after = [next_memory(before, outcome, day=DAY + timedelta(days=14)).stability_days for outcome in Outcome]
    assert after == sorted(set(after))


@pytest.mark.parametrize("later_days", [0, -1, -400])
def test_day_out_of_order_is_refused(later_days: int) -> None:
    memory = next_memory(None, Outcome.HELD, day=DAY)
    with pytest.raises(ValueError, match="day order"):
        next_memory(memory, Outcome.HELD, day=DAY + timedelta(days=later_days))


def test_second_round_of_a_day_is_refused_by_the_fold() -> None:
    with pytest.raises(ValueError, match="one a day"):
        fold_rounds([RatedRound(DAY, Outcome.HELD), RatedRound(DAY, Outcome.HELD)])


@pytest.mark.parametrize("stability_days", [0.0, -1.0, math.nan])
def test_stability_that_no_fold_gives_is_refused(stability_days: float) -> None:
    memory = replace(held(2), stability_days=stability_days)
    for ask in (
        lambda: next_memory(memory, Outcome.HELD, day=DAY + timedelta(days=1)),
        lambda: recall(memory, day=DAY),
        lambda: interval_days(memory, target_recall=0.9),
    ):
        with pytest.raises(ValueError, match="no fold gives"):
            ask()


@pytest.mark.parametrize("difficulty", [0.99, 10.01, math.nan])
def test_difficulty_that_no_fold_gives_is_refused(difficulty: float) -> None:
    with pytest.raises(ValueError, match="no fold gives"):
        next_memory(replace(held(2), difficulty=difficulty), Outcome.HELD, day=DAY + timedelta(days=1))


@pytest.mark.parametrize("target", [0.0, -0.9, 0.6999, 0.9701, 1.0, 1.5, math.nan, math.inf])
def test_target_out_of_range_is_refused_by_name(target: float) -> None:
    with pytest.raises(Invalid, match=r"0\.70 to 0\.97") as refusal:
        due_day(held(2), target_recall=target, account_id=1, pair_id=1)
    assert refusal.value.field == "target_recall"


@pytest.mark.parametrize("target", [0.70, 0.9, 0.97])
def test_target_within_range_is_taken(target: float) -> None:
    check_target_recall(target)


def test_no_dice_are_thrown() -> None:
    before = random.getstate()
    memory = fold_rounds(RatedRound(DAY + timedelta(days=30 * month), Outcome.HELD) for month in range(5))
    assert memory is not None
    due_day(memory, target_recall=0.9, account_id=1, pair_id=1)
    assert random.getstate() == before


def test_no_rounds_give_no_memory() -> None:
    assert fold_rounds([]) is None


def test_interval_has_a_floor_and_a_roof() -> None:
    assert interval_days(held(1, stability_days=0.001), target_recall=0.97) == 1
    assert interval_days(held(1, stability_days=30_000.0), target_recall=0.70) == LONGEST_INTERVAL_DAYS


def test_recall_on_the_day_itself_and_before_it_is_whole() -> None:
    assert recall(held(2), day=DAY) == recall(held(2), day=DAY - timedelta(days=1)) == 1.0


def test_short_intervals_are_not_spread() -> None:
    for pair_id in range(200):
        assert due_day(held(1, stability_days=3.0), target_recall=0.9, account_id=1, pair_id=pair_id) == DAY + timedelta(days=3)


@pytest.mark.parametrize(("days", "reach"), [(4, 1), (20, 1), (39, 1), (40, 2), (100, 5), (400, 20)])
def test_spread_uses_its_whole_reach_and_no_more(days: int, reach: int) -> None:
    memory = held(3, stability_days=float(days))
    moved = {(due_day(memory, target_recall=0.9, account_id=1, pair_id=pair) - DAY).days - days for pair in range(2000)}
    assert moved == set(range(-reach, reach + 1))


def test_pairs_begun_together_do_not_clump() -> None:
    memory = held(3, stability_days=100.0)
    days = [due_day(memory, target_recall=0.9, account_id=8, pair_id=pair) for pair in range(1100)]
    assert max(days.count(day) for day in set(days)) < 2 * 1100 / 11


def test_spread_changes_with_account_pair_and_round() -> None:
    memory = held(3, stability_days=400.0)
    base = [due_day(memory, target_recall=0.9, account_id=1, pair_id=pair) for pair in range(20)]
    assert base != [due_day(memory, target_recall=0.9, account_id=2, pair_id=pair) for pair in range(20)]
    assert base != [due_day(replace(memory, rounds=4), target_recall=0.9, account_id=1, pair_id=pair) for pair in range(20)]


def test_spread_is_the_same_in_every_process() -> None:
    # Written down once: a change of hash or of seed would move every due day in every hall.
    memory = held(3, stability_days=400.0)
    assert [(due_day(memory, target_recall=0.9, account_id=1, pair_id=pair) - DAY).days for pair in (1, 2, 3)] == [389, 394, 383]


@given(logs(least=2), st.data())
def test_fold_goes_on_from_any_point(rounds: list[RatedRound], data: st.DataObject) -> None:
    cut = data.draw(st.integers(1, len(rounds) - 1))
    memory = fold_rounds(rounds[:cut])
    for rated in rounds[cut:]:
        memory = next_memory(memory, rated.outcome, day=rated.day)
    assert memory == fold_rounds(rounds)


@given(logs(), st.integers(1, 3000))
def test_only_differences_of_days_matter(rounds: list[RatedRound], shift: int) -> None:
    moved = [replace(rated, day=rated.day + timedelta(days=shift)) for rated in rounds]
    here, there = fold_rounds(rounds), fold_rounds(moved)
    assert here is not None
    assert there is not None
    assert astuple(replace(here, last_day=there.last_day)) == astuple(there)


@given(logs())
def test_counts_and_last_follow_the_log(rounds: list[RatedRound]) -> None:
    memory = fold_rounds(rounds)
    assert memory is not None
    running = 0
    for rated in reversed(rounds):
        if rated.outcome is Outcome.MISSED:
            break
        running += 1
    assert (memory.rounds, memory.held_running) == (len(rounds), running)
    assert (memory.last, memory.last_day) == (rounds[-1].outcome, rounds[-1].day)
    assert memory.stability_days > 0
    assert 1 <= memory.difficulty <= 10


@given(logs(least=2), st.data())
def test_any_swap_of_days_is_refused(rounds: list[RatedRound], data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(rounds) - 2))
    rounds[place], rounds[place + 1] = rounds[place + 1], rounds[place]
    with pytest.raises(ValueError, match="day order"):
        fold_rounds(rounds)


@given(MEMORIES, TARGETS, TARGETS)
def test_a_higher_target_never_lengthens_the_interval(memory: Memory, one: float, other: float) -> None:
    lower, higher = sorted((one, other))
    assert interval_days(memory, target_recall=lower) >= interval_days(memory, target_recall=higher) >= 1


@given(MEMORIES, TARGETS, st.integers(1, 10_000), st.integers(1, 10_000))
def test_spread_stays_within_its_reach(memory: Memory, target: float, account_id: int, pair_id: int) -> None:
    days = interval_days(memory, target_recall=target)
    due = due_day(memory, target_recall=target, account_id=account_id, pair_id=pair_id)
    assert abs((due - memory.last_day).days - days) <= (0 if days < 4 else max(1, 0.05 * days))
    assert due > memory.last_day


@given(MEMORIES, st.integers(0, 5000), st.integers(0, 5000))
def test_recall_only_falls(memory: Memory, one: int, other: int) -> None:
    sooner, later = sorted((one, other))
    early, late = (recall(memory, day=memory.last_day + timedelta(days=days)) for days in (sooner, later))
    assert 0 < late <= early <= 1


@given(st.floats(20, 3000), TARGETS)
def test_recall_meets_the_target_when_due(stability_days: float, target: float) -> None:
    memory = held(3, stability_days=stability_days)
    days = interval_days(memory, target_recall=target)
    around = [recall(memory, day=memory.last_day + timedelta(days=days + step)) for step in (-1, 1)]
    assert around[1] < target < around[0]


def test_the_words_of_the_library_never_leave_the_module() -> None:
    words = {"Rating", "Again", "Hard", "Good", "Easy"}
    room = Path(drillhall.__file__).parent
    for path in room.rglob("*.py"):
        if path.name == "memory.py":
            continue
        names = {node.id for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Name)}
        attributes = {node.attr for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Attribute)}
        assert not words & (names | attributes), path


def test_default_target_is_where_stability_is_measured() -> None:
    assert interval_days(held(1, stability_days=50.0), target_recall=DEFAULT_TARGET) == 50
