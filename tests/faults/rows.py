"""What the drills of faults are made of: a row that does harm to halls, and what came of it."""

from __future__ import annotations

import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from random import Random
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from tests.engines import Server
    from tests.faults.halls import Workplace

LONGEST_SECONDS: Final = 1_800.0
"""What does not end by then hangs, and the other rows are to be run all the same; with `--long` rows take as long as they take."""
SAYS_EVERY: Final = 60.0


@dataclass(frozen=True)
class Ground:
    """Where rows run: a workplace with halls, the PostgreSQL behind some of them, how much harm is done, and where dice start."""

    place: Workplace
    server: Server
    seed: int
    long: bool = False

    def dice(self, what: str) -> Random:
        """Return dice of its own for a row, the same for the same seed."""
        return Random(f"{self.seed} {what}")

    def of(self, usual: int, long: int) -> int:
        """Return one number or the other."""
        return long if self.long else usual


@dataclass
class Told:
    """What a row counted, and every loss that it saw; `progress` is how far it is, where its counts come at its end."""

    counts: dict[str, int] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)
    progress: str = ""

    def count(self, what: str, number: int = 1) -> None:
        """Add to a count."""
        self.counts[what] = self.counts.get(what, 0) + number

    def wants(self, holds: bool, sentence: str) -> None:
        """Count a check, and note the sentence as a loss where it does not hold."""
        self.count("checks")
        if not holds:
            self.lost.append(sentence)


@dataclass(frozen=True)
class Row:
    """One row of the table; `mounts`: it needs a mount namespace of its own."""

    name: str
    does: str
    run: Callable[[Ground, Told], None]
    mounts: bool = False


@dataclass(frozen=True)
class Result:
    """A row that has been run."""

    name: str
    counts: Mapping[str, int]
    lost: tuple[str, ...]
    seconds: float
    was_ended: bool = False

    @property
    def as_json(self) -> dict[str, object]:
        """The result as JSON."""
        return {"name": self.name, "counts": dict(self.counts), "lost": list(self.lost), "seconds": round(self.seconds, 1)}


def run(row: Row, ground: Ground) -> Result:
    """Run a row, in the main thread; one that breaks off, does not end or is told to has shown nothing, and counts as a loss."""
    began, was_ended = time.monotonic(), False
    told = Told()
    try:
        with _says_how_far(row, told), _ends(0 if ground.long else LONGEST_SECONDS):
            row.run(ground, told)
    except Exception:  # noqa: BLE001 - an edge: the other rows are to be run all the same
        told.lost.append(f"the row broke off:\n{traceback.format_exc()}")
    except SystemExit:
        was_ended = True
        told.lost.append(f"the row was told to end, after {told.progress or counted(told.counts)}")
    return Result(row.name, told.counts, tuple(told.lost), time.monotonic() - began, was_ended)


@contextmanager
def _says_how_far(row: Row, told: Told) -> Iterator[None]:
    """Say once a minute, where errors are told, how far a row is."""
    over, began = threading.Event(), time.monotonic()

    def say() -> None:
        while not over.wait(SAYS_EVERY):
            far = told.progress or counted(dict(told.counts))
            lines = f"  … {row.name} for {time.monotonic() - began:.0f} s: {far or 'nothing counted yet'}; lost {len(told.lost)}"
            print(lines, file=sys.stderr, flush=True)

    thread = threading.Thread(target=say, daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


@contextmanager
def _ends(seconds: float) -> Iterator[None]:
    """Raise TimeoutError once what is done within takes longer; 0: never."""

    def ring(*_: object) -> None:
        raise TimeoutError(f"it did not end in {seconds:g} seconds")

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def counted(counts: Mapping[str, int]) -> str:
    """Return counts in words."""
    return ", ".join(f"{what} {number}" for what, number in counts.items())
