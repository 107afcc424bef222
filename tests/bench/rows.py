"""What a bench is made of: a row that measures ours beside a floor, the goal it must reach, and what came of it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from typing import Final

REPEATS: Final = 5


@dataclass(frozen=True, slots=True)
class Size:
    """How much to measure: everything, or with `quick` as little as still shows a gross fault; and the seed of what is drawn."""

    quick: bool = False
    seed: int = 500

    def of(self, whole: int, quick: int) -> int:
        """Return one number or the other."""
        return quick if self.quick else whole


@dataclass(frozen=True, slots=True)
class Measured:
    """What ours took and what the floor took in the same run, in one unit; floor None: there is none, the goal is a bound.

    gain: how much ours is over the floor where that was measured in pairs, with its 95 % interval.
    interval: 95 % interval of ours itself, where there is no gain.
    """

    ours: float
    floor: float | None = None
    gain: tuple[float, float, float] | None = None
    interval: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Goal:
    """What a row must reach: `words` for the table, `holds` for the judgement."""

    words: str
    holds: Callable[[Measured], bool]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the table, to be measured by itself; its name begins with its subject."""

    name: str
    unit: str
    goal: Goal
    measure: Callable[[], Measured]


@dataclass(frozen=True, slots=True)
class Result:
    """A row that has been measured in so many seconds of the clock, or that `failed` (ours None) and why."""

    name: str
    unit: str
    floor: float | None
    ours: float | None
    goal: str
    met: bool
    gain: tuple[float, float, float] | None = None
    interval: tuple[float, float] | None = None
    failed: str = ""
    seconds: float = 0.0

    @property
    def ratio(self) -> float | None:
        """Ours as a multiple of the floor."""
        return None if self.floor is None or self.ours is None else self.ours / self.floor

    @property
    def as_json(self) -> dict[str, object]:
        """The row as the file of results holds it; the interval is that of the gain where there is one, else of ours."""
        told: dict[str, object] = {"name": self.name, "floor": self.floor, "ours": self.ours, "ratio": self.ratio}
        told |= {"goal": self.goal, "met": self.met, "seconds": round(self.seconds, 1)}
        if self.failed:
            told |= {"failed": self.failed}
        if self.gain is not None:
            told |= {"gain": self.gain[0], "interval": list(self.gain[1:])}
        elif self.interval is not None:
            told |= {"interval": list(self.interval)}
        return told


def run(row: Row) -> Result:
    """Measure a row and judge it."""
    began = time.monotonic()
    measured = row.measure()
    met, told = bool(row.goal.holds(measured)), (measured.gain, measured.interval)
    return Result(row.name, row.unit, measured.floor, measured.ours, row.goal.words, met, *told, seconds=time.monotonic() - began)


def at_most_times(most: float, *, plus: float = 0.0) -> Goal:
    """Ours takes at most so many times what the floor takes, and so much more."""
    words = f"≤ {most:g} × floor" + (f" + {plus:g}" if plus else "")
    return Goal(words, lambda measured: measured.floor is not None and measured.ours <= most * measured.floor + plus)


def at_least_times(least: float) -> Goal:
    """Ours gets at least so much of the floor's yield done; both are yields, the more the better."""
    return Goal(f"≥ {least:g} × floor", lambda measured: measured.floor is not None and measured.ours >= least * measured.floor)


def at_most(most: float) -> Goal:
    """Ours stays within a bound, whatever the floor."""
    return Goal(f"≤ {most:,.4g}" if most < 1000 else f"≤ {most:,.0f}", lambda measured: measured.ours <= most)


def at_least(least: float) -> Goal:
    """Ours reaches a bound, whatever the floor."""
    return Goal(f"≥ {least:g}", lambda measured: measured.ours >= least)


def interleaved(
    floor: Callable[[], object], ours: Callable[[], object], *, repeats: int = REPEATS, clock: Callable[[], float] = time.perf_counter
) -> Measured:
    """Return the median time of both, run in turns, so that whatever else the machine does falls on both; each once before, to warm up."""
    floor(), ours()
    took: dict[str, list[float]] = {"floor": [], "ours": []}
    for turn in range(repeats):
        both = [("floor", floor), ("ours", ours)]
        for name, work in both if turn % 2 == 0 else reversed(both):
            began = clock()
            work()
            took[name].append(clock() - began)
    return Measured(ours=median(took["ours"]), floor=median(took["floor"]))
