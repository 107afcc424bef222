"""What the drills of faults are made of: a row that does harm to halls, and what came of it."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.engines import Server
    from tests.faults.halls import Workplace


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
    """What a row counted, and every loss that it saw."""

    counts: dict[str, int] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)

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

    @property
    def as_json(self) -> dict[str, object]:
        """The result as JSON."""
        return {"name": self.name, "counts": dict(self.counts), "lost": list(self.lost), "seconds": round(self.seconds, 1)}


def run(row: Row, ground: Ground) -> Result:
    """Run a row; one that breaks off has shown nothing, and counts as a loss."""
    began = time.monotonic()
    told = Told()
    try:
        row.run(ground, told)
    except Exception:  # noqa: BLE001 - an edge: the other rows are to be run all the same
        told.lost.append(f"the row broke off:\n{traceback.format_exc()}")
    return Result(row.name, told.counts, tuple(told.lost), time.monotonic() - began)
