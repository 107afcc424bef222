"""How fast a batch of answers is stored for good, beside the bare writes that it comes to; and whether a grown hall slows it down.

All is counted in time on a core: of this process, and of the PostgreSQL process that works for it. Waiting for the disk, which is the
same for both sides, is left out, so that what else the machine does does not count; it would bring every ratio nearer to 1.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import ExitStack
from functools import partial

from tests.bench.grown.bare import BareWrites
from tests.bench.grown.halls import Sort, a_hall
from tests.bench.grown.visiting import Batches, cores_of
from tests.bench.rows import Measured, Row, Size, at_most_times, interleaved
from tests.engines import ENGINES

FEW, OWN = Sort(answers=1000), Sort(own=300)
NAMES = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}


def rows(size: Size) -> Iterable[Row]:
    """The rows of this subject."""
    repeats = size.of(20, 2)
    for engine in ENGINES:
        name, flat = f"storing: {NAMES[engine]}", at_most_times(1.2 if not size.quick else 2.0)
        for answers in (20, 4):
            yield Row(
                f"{name}, {answers} answers beside their bare writes", "s", at_most_times(1.5), partial(_bare, engine, answers, repeats)
            )
        for many in (Sort(answers=10**power) for power in range(4, size.of(6, 4) + 1)):
            told = f"{name}, in {many.answers:,} answers of {many.learners:,} beside {FEW.answers:,} of {FEW.learners}"
            yield Row(told, "s", flat, partial(_flat, engine, FEW, many, repeats))
        for own in (Sort(own=10**power * 3) for power in range(3, size.of(4, 3) + 1)):
            yield Row(f"{name}, after {own.own:,} of her own beside {OWN.own}", "s", flat, partial(_flat, engine, OWN, own, repeats))


def _flat(engine: str, few: Sort, many: Sort, repeats: int) -> Measured:
    with a_hall(engine, few) as one, a_hall(engine, many) as other:
        return interleaved(Batches(one).send_next, Batches(other).send_next, repeats=repeats, clock=cores_of(one, other))


def _bare(engine: str, answers: int, repeats: int) -> Measured:
    """Have one hall tell what each batch writes, and measure another that takes the batches, beside a third that is only written to."""
    with ExitStack() as held:
        told, ours, bare = (held.enter_context(a_hall(engine, FEW)) for _ in range(3))
        writes = held.enter_context(BareWrites(told, bare, answers=answers, batches=repeats + 1))
        clock = cores_of(ours, more=writes.backend)
        floor: Callable[[], object] = writes.write_next
        return interleaved(floor, Batches(ours, answers=answers).send_next, repeats=repeats, clock=clock)
