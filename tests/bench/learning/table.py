"""The rows about learning: what the engine gains over plain policies, with 95 % intervals over clubs that met the same luck.

The floor of a row is what the other policy reached in the same run, ours is what the engine reached, both in points on held-out
pictures on day 57. A goal says what ours must gain, and below what gain something is broken. Seeds that tuned (1 to 20) do not report.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from drillhall.core.forecast import RecalledRound, fit_recalibration
from tests.bench.learning.runs import MANNERS, Taken, all_courses, difference
from tests.bench.learning.speed import speed_rows
from tests.bench.rows import Goal, Measured, Row, Size

SEEDS, CLUBS, GUESSERS = 3, 4, 16
BINS: Final = 10


@dataclass(frozen=True)
class _Against:
    """A row that holds ours against another policy: the regime, both names, the measure, and what must be gained."""

    regime: str
    other: str
    goal: float | None
    broken_below: float | None
    measure: str = "mean"
    ours: str = "ours"


TABLE: Final = (
    _Against("A", "random", 0.5, 0.25),
    _Against("A", "a memory a picture", 3.0, 2.1),
    _Against("A", "doubling", None, None),
    _Against("A", "equal turns, unseen first", None, None),
    _Against("B", "random", 1.2, 0.7),
    _Against("B", "doubling", 1.5, 1.0),
    _Against("B", "a memory a picture", 4.0, 3.1),
    _Against("B", "equal turns, unseen first", None, None),
    _Against("C", "random", None, 1.2),
    _Against("C", "random", 5.0, 2.6, "three_weakest"),
    _Against("C", "doubling", 1.0, 0.6),
    _Against("C", "a memory a picture", 2.0, 1.3),
    _Against("C", "equal turns, unseen first", None, None),
    _Against("C", "ours", 1.2, 0.7, "on_outing", "ours with the date"),
    _Against("C", "ours", -3.0, -4.5, "off_outing", "ours with the date"),
    _Against("C", "weakest first", 0.5, 0.5),
    _Against("C", "new after due", 0.5, 0.5),
    _Against("B", "weakest first", 0.5, 0.5),
    _Against("B", "new after due", 0.5, 0.5),
    _Against("digits", "random", None, None),
    _Against("digits", "doubling", None, None),
    _Against("digits", "a memory a picture", None, None),
    _Against("digits, half known", "random", None, None),
)
IDEAS: Final = (
    _Against("B", "marks told, no order", 0.0, None, ours="marks first"),
    _Against("C", "marks told, no order", 0.0, None, ours="marks first"),
    _Against("C", "marks told, no order", 0.0, None, "three_weakest", "marks first"),
    _Against("B", "ours", 0.0, None, ours="ending at a miss"),
    _Against("C", "ours", 0.0, None, ours="ending at a miss"),
    _Against("B", "ours", None, None, ours="staying after a miss"),
    _Against("C", "ours", None, None, ours="staying after a miss"),
    _Against("A", "rounds of 4", 0.0, None),
    _Against("C", "ours", None, None, ours="trials for pairs she says she knows"),
    _Against("C", "ours", None, None, ours="neither and thirds"),
    _Against("B", "random", 1.2, 0.7, ours="marks first, ending at a miss"),
    _Against("C", "random", None, 1.2, ours="marks first, ending at a miss"),
    _Against("C", "random", 5.0, 2.6, "three_weakest", "marks first, ending at a miss"),
)


def rows(size: Size) -> Iterator[Row]:
    """Return every row about learning; the courses are taken when the first of them is measured, once for all."""

    def taken(regime: str, name: str) -> Taken:
        found: Taken = all_courses(size.seed, size.of(SEEDS, 1), size.of(CLUBS, 2), size.of(GUESSERS, 2))[(regime, name)]
        return found

    def guessers() -> np.ndarray:
        courses = all_courses(size.seed, size.of(SEEDS, 1), size.of(CLUBS, 2), size.of(GUESSERS, 2))
        return 100 * np.array([courses[("guesser", manner)] for manner in MANNERS]).mean(1).max(0)

    yield from (_row(row, taken) for row in TABLE)
    yield _oracle_row(taken)
    yield from (_pictures_row(taken, measure, goal, broken) for measure, goal, broken in (("mean", 0.62, 0.75), ("weakest", 0.55, 0.70)))
    yield _bound_row("learning: a guesser, worst of three manners, pair-days beyond 21 days", "%", 0.1, 0.5, lambda: float(guessers()[0]))
    yield _bound_row("learning: a guesser, worst of three manners, pairs ever there", "%", 0.5, 2.0, lambda: float(guessers()[1]))
    yield _bound_row(
        "learning: recalibrated recall, other learners", "error", 0.03, 0.05, lambda: calibration_error(taken("C", "ours").rounds)
    )
    yield from (_row(row, taken, idea=True) for row in IDEAS)
    yield from speed_rows(size)


def _row(row: _Against, taken: Callable[[str, str], Taken], *, idea: bool = False) -> Row:
    what = {"mean": "mean", "three_weakest": "three weakest pairs", "on_outing": "its pairs, day 28", "off_outing": "the rest, day 28"}
    name = f"learning: {'idea, ' if idea else ''}{row.regime}, {row.ours} against {row.other}, {what[row.measure]}"

    def measure() -> Measured:
        ours, other = (getattr(taken(row.regime, policy), row.measure) for policy in (row.ours, row.other))
        found = difference(ours, other)
        return Measured(ours=float(ours.mean()), floor=float(other.mean()), gain=(found.gain, found.low, found.high))

    return Row(name, "points", _gain(row.goal, row.broken_below), measure)


def _gain(goal: float | None, broken_below: float | None) -> Goal:
    """Judge by the gain; a row without a goal is there to be read."""
    words = " ".join(
        [*([f"gain ≥ {goal:+g}"] if goal is not None else []), *([f"(broken < {broken_below:+g})"] if broken_below is not None else [])]
    )
    least = goal if goal is not None else broken_below
    return Goal(words or "told, no goal", lambda measured: least is None or (measured.gain is not None and measured.gain[0] >= least))


def _oracle_row(taken: Callable[[str, str], Taken]) -> Row:
    """How much of what an oracle gains over a random order the engine gains; the oracle knows which pairs were known before."""

    def measure() -> Measured:
        ours, oracle, other = (taken("C", name).mean for name in ("ours", "oracle", "random"))
        return Measured(ours=float((ours - other).mean()), floor=float((oracle - other).mean()))

    goal = Goal("≥ 0.95 × floor", lambda measured: measured.floor is not None and measured.ours >= 0.95 * measured.floor)
    return Row("learning: C, gain over random order, ours beside an oracle's", "points", goal, measure)


def _pictures_row(taken: Callable[[str, str], Taken], measure: str, goal: float, broken: float) -> Row:
    """Of 15 pictures a day, the share with which ours reaches what random order reaches with all; read off a line over log pictures."""

    def needed() -> Measured:
        counts = (9, 12, 15)
        reached = [float(getattr(taken("C", name), measure).mean()) for name in ("ours at 9", "ours at 12", "ours")]
        level = float(getattr(taken("C", "random"), measure).mean())
        slope, intercept = np.polyfit(reached, np.log(counts), 1)
        return Measured(ours=100 * float(np.exp(intercept + slope * level)) / 15, floor=100.0)

    holds = Goal(f"≤ {100 * goal:g} % (broken > {100 * broken:g} %)", lambda measured: measured.ours <= 100 * goal)
    return Row(f"learning: C, pictures needed for random order's {measure}", "%", holds, needed)


def _bound_row(name: str, unit: str, goal: float, broken: float, found: Callable[[], float]) -> Row:
    holds = Goal(f"≤ {goal:g} (broken > {broken:g})", lambda measured: measured.ours <= goal)
    return Row(name, unit, holds, lambda: Measured(ours=found()))


def calibration_error(rounds: tuple[RecalledRound, ...]) -> float:
    """Fit on half of the learners and return the expected calibration error on the other half, in ten bins of equal size."""
    fitted = fit_recalibration([one for one in rounds if one.account_id % 2 == 0])
    if fitted is None:
        return 1.0
    others = sorted((fitted.chance(one.recalled), one.held) for one in rounds if one.account_id % 2)
    bins = [part for part in np.array_split(np.array(others, float), BINS) if len(part)]
    return float(sum(len(part) * abs(part[:, 0].mean() - part[:, 1].mean()) for part in bins) / len(others))
