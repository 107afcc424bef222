"""Which drills of faults there are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from tests.faults import clocks, databases, disks, erased, fuzzing, keeping, killing, many, migrating, outside, sweeping
from tests.faults.rows import Row

DRILLS: Final[tuple[Callable[[], list[Row]], ...]] = (
    killing.rows,
    databases.rows,
    migrating.rows,
    disks.rows,
    clocks.rows,
    keeping.rows,
    erased.rows,
    sweeping.rows,
    fuzzing.rows,
    outside.rows,
    many.rows,
)
"""In the order in which they run."""
