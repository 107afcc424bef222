"""The rows about learning: what the engine gains over plain policies, with 95 % intervals over clubs that met the same luck.

The floor of a row is what the other policy reached in the same run, ours is what the engine reached, both in points on held-out
pictures on day 57. A goal says what ours must gain, and below what gain something is broken. Seeds that tuned (1 to 20) do not report.

Ours is the engine as it is shipped, in a hall whose catalogue tells which marks can be seen on a picture; plain policies have the same
pictures and make nothing of that, unless their name says so. "No marks told" is the engine where the catalogue is silent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from drillhall.core.confusion import wilson
from drillhall.core.forecast import RecalledRound, fit_recalibration
from tests.bench.learning.runs import MANNERS, MORE_MANNERS, Taken, all_courses, difference, resampled
from tests.bench.learning.speed import speed_rows
from tests.bench.rows import Goal, Measured, Row, Size, at_least

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
    _Against("A", "equal turns, marked pictures first", None, None),
    _Against("B", "random", 1.2, 0.7),
    _Against("B", "doubling", 1.5, 1.0),
    _Against("B", "a memory a picture", 4.0, 3.1),
    _Against("B", "equal turns, unseen first", None, None),
    _Against("B", "equal turns, marked pictures first", None, None),
    _Against("B", "random", 1.2, 0.7, ours="ours, no marks told"),
    _Against("B", "doubling", 1.5, 1.0, ours="ours, no marks told"),
    _Against("B", "a memory a picture", 4.0, 3.1, ours="ours, no marks told"),
    _Against("C", "random", None, 1.2),
    _Against("C", "random", 5.0, 2.6, "three_weakest"),
    _Against("C", "doubling", 1.0, 0.6),
    _Against("C", "a memory a picture", 2.0, 1.3),
    _Against("C", "equal turns, unseen first", None, None),
    _Against("C", "equal turns, marked pictures first", None, None),
    _Against("C", "random", None, 1.2, ours="ours, no marks told"),
    _Against("C", "random", 5.0, 2.6, "three_weakest", "ours, no marks told"),
    _Against("C", "doubling", 1.0, 0.6, ours="ours, no marks told"),
    _Against("C", "a memory a picture", 2.0, 1.3, ours="ours, no marks told"),
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
    _Against("digits, half known", "doubling", None, None),
    _Against("digits, half known", "a memory a picture", None, None),
)
IDEAS: Final = (
    _Against("B", "ours, no marks told", 0.0, None),
    _Against("C", "ours, no marks told", 0.0, None),
    _Against("C", "ours, no marks told", 0.0, None, "three_weakest"),
    _Against("B", "finishing a missed round", 0.0, None),
    _Against("C", "finishing a missed round", 0.0, None),
    _Against("B", "ours", None, None, ours="staying after a miss"),
    _Against("B", "ours", None, None, ours="no likeness of background"),
    _Against("B", "ours", 0.0, None, ours="prompts as planned"),
    _Against("B", "prompts for any trait", 0.0, None, ours="prompts as planned"),
    _Against("B", "prompts as planned", None, None, ours="prompts on every picture"),
    _Against("C", "ours", 0.0, None, ours="prompts as planned"),
    _Against("C", "prompts for any trait", 0.0, None, ours="prompts as planned"),
    _Against("C", "ours", None, None, ours="trials for pairs she says she knows"),
    _Against("C", "ours", None, None, ours="neither and thirds"),
    _Against("A", "ours", None, None, ours="ours with fitted parameters"),
    _Against("A", "ours", None, None, "three_weakest", "ours with fitted parameters"),
)


ORACLES: Final = (
    ("ours", "an oracle"),
    ("ours", "an oracle with marked pictures first"),
    ("ours, no marks told", "an oracle"),
)


def rows(size: Size) -> Iterator[Row]:
    """Return every row about learning; the courses are taken when the first of them is measured, once for all."""

    def taken(regime: str, name: str) -> Taken:
        found: Taken = all_courses(size.seed, size.of(SEEDS, 1), size.of(CLUBS, 2), size.of(GUESSERS, 2))[(regime, name)]
        return found

    def guessers(manners: Sequence[str]) -> list[np.ndarray]:
        courses = all_courses(size.seed, size.of(SEEDS, 1), size.of(CLUBS, 2), size.of(GUESSERS, 2))
        return [np.array(courses[("guesser", manner)], float) for manner in manners]

    yield from (_row(row, taken) for row in TABLE)
    yield from (_oracle_row(taken, *row) for row in ORACLES)
    yield from (_pictures_row(taken, measure, goal, broken) for measure, goal, broken in (("mean", 0.62, 0.75), ("weakest", 0.55, 0.70)))
    for manners, worst in ((MANNERS, "worst of three manners"), ((*MANNERS, *MORE_MANNERS), "worst of five manners")):
        yield from _guesser_rows(partial(guessers, manners), f"learning: a guesser, {worst}")
    yield _calibration_row(lambda: taken("C", "ours").rounds)
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


def _oracle_row(taken: Callable[[str, str], Taken], ours: str, oracle: str) -> Row:
    """How much of what an oracle gains over a random order the engine gains; the oracle knows which pairs were known before."""

    def measure() -> Measured:
        own, best, other = (taken("C", name).mean for name in (ours, oracle, "random"))

        def share(clubs: np.ndarray) -> float:
            return 100 * float((own - other)[clubs].mean() / (best - other)[clubs].mean())

        return Measured(ours=share(np.arange(len(own))), floor=100.0, interval=resampled(share, len(own)))

    return Row(f"learning: C, gain over random order, {ours} beside {oracle}", "%", at_least(95), measure)


def _pictures_row(taken: Callable[[str, str], Taken], measure: str, goal: float, broken: float) -> Row:
    """Of 15 pictures a day, the share with which ours reaches what random order reaches with all; read off a line over log pictures."""

    def needed() -> Measured:
        counts = (9, 12, 15)
        reached = [getattr(taken("C", name), measure) for name in ("ours at 9", "ours at 12", "ours")]
        level = getattr(taken("C", "random"), measure)

        def share(clubs: np.ndarray) -> float:
            slope, intercept = np.polyfit([float(one[clubs].mean()) for one in reached], np.log(counts), 1)
            return 100 * float(np.exp(intercept + slope * level[clubs].mean())) / 15

        return Measured(ours=share(np.arange(len(level))), floor=100.0, interval=resampled(share, len(level)))

    holds = Goal(f"≤ {100 * goal:g} % (broken > {100 * broken:g} %)", lambda measured: measured.ours <= 100 * goal)
    return Row(f"learning: C, pictures needed for random order's {measure}", "%", holds, needed)


def _guesser_rows(guessers: Callable[[], list[np.ndarray]], name: str) -> Iterator[Row]:
    """Two rows about guessers of some manners; each guesser is (share of pair-days, pairs ever there, pairs met)."""

    def days() -> Measured:
        worst = max((100 * one[:, 0] for one in guessers()), key=np.mean)
        return Measured(ours=float(worst.mean()), interval=resampled(lambda drawn: float(worst[drawn].mean()), len(worst)))

    def ever() -> Measured:
        there, met = max((tuple(one[:, 1:].sum(0)) for one in guessers()), key=lambda counts: counts[0] / counts[1])
        likely = wilson(int(there), int(met))
        return Measured(ours=100 * there / met, interval=(100 * likely.low, 100 * likely.high))

    yield _bound_row(f"{name}, pair-days beyond 21 days", "%", 0.1, 0.5, days)
    yield _bound_row(f"{name}, pairs ever there", "%", 0.5, 2.0, ever)


def _calibration_row(rounds: Callable[[], tuple[RecalledRound, ...]]) -> Row:
    def measure() -> Measured:
        by_learner: dict[int, list[RecalledRound]] = {}
        for one in rounds():
            by_learner.setdefault(one.account_id, []).append(one)
        learners = [by_learner[learner] for learner in sorted(by_learner)]

        def error(drawn: np.ndarray) -> float:
            return calibration_error(tuple(one for place in drawn for one in learners[place]))

        return Measured(ours=error(np.arange(len(learners))), interval=resampled(error, len(learners), times=40))

    return _bound_row("learning: recalibrated recall, other learners", "error", 0.03, 0.05, measure)


def _bound_row(name: str, unit: str, goal: float, broken: float, measure: Callable[[], Measured]) -> Row:
    return Row(name, unit, Goal(f"≤ {goal:g} (broken > {broken:g})", lambda measured: measured.ours <= goal), measure)


def calibration_error(rounds: tuple[RecalledRound, ...]) -> float:
    """Fit on half of the learners and return the expected calibration error on the other half, in ten bins of equal size."""
    fitted = fit_recalibration([one for one in rounds if one.account_id % 2 == 0])
    if fitted is None:
        return 1.0
    others = sorted((fitted.chance(one.recalled), one.held) for one in rounds if one.account_id % 2)
    bins = [part for part in np.array_split(np.array(others, float), BINS) if len(part)]
    return float(sum(len(part) * abs(part[:, 0].mean() - part[:, 1].mean()) for part in bins) / len(others))
