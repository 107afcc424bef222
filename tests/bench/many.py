"""Many learners at once, on PostgreSQL behind nginx: what a second of a core of the app serves in two processes, beside one."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from random import Random

from tests import engines
from tests.bench.rows import Measured, Row, Size, at_least_times
from tests.faults.halls import Workplace
from tests.faults.many import FEW, LEAST_OF_ONE, three, yields


def rows(size: Size) -> Iterable[Row]:
    """Return the row."""
    return [Row("many: two processes", "requests/s of a core", at_least_times(LEAST_OF_ONE), partial(_measure, size))]


def _measure(size: Size) -> Measured:
    with tempfile.TemporaryDirectory(prefix="drillhall-many-") as folder, engines.a_server() as server:
        server.start(engines.LASTING)
        hall = Workplace(Path(folder), {"postgresql": server.dsn}).hall("postgresql")
        with three(hall, FEW, FEW, Random(size.seed)) as (servers, alone, pair):
            found = yields(servers, alone, pair, slices=size.of(4, 1), seconds=size.of(8, 4))
            alone.settle()
            pair.settle()
    return Measured(ours=found.two, floor=found.one)
