"""Shares lives and files among processes, each of which makes its halls once: its program then knows its pages and statements."""

from __future__ import annotations

import gc
import multiprocessing
import os
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Final

from tests import engines, outside
from tests.faults.fuzz.engines import EmptyHall, a_stage
from tests.faults.fuzz.ground import Ground
from tests.faults.fuzz.judging import Verdicts
from tests.faults.fuzz.stage import Stage
from tests.hashing import light_hashing


@dataclass(frozen=True)
class Making:
    """Of what a process makes its halls: one that was built, a folder, and the address of a PostgreSQL that has it as a template."""

    built: Ground
    folder: Path
    server: str = ""


class Worker:
    """What one process keeps between the spans that it is given."""

    def __init__(self, making: Making) -> None:
        self._kept = ExitStack()
        self._stages: dict[str, Stage] = {}
        self.making, self.folder = making, Path(tempfile.mkdtemp(dir=making.folder))

    def stage(self, server: str) -> Stage:
        """Return this process's hall on PostgreSQL where `server` is its address, else on SQLite."""
        if server not in self._stages:
            place = self.folder / f"hall-{len(self._stages)}"
            self._stages[server] = self._kept.enter_context(a_stage(self.making.built, place, server))
            gc.freeze()  # what is kept for good is not to be looked through again and again
        return self._stages[server]

    @cached_property
    def empty(self) -> EmptyHall:
        """This process's empty hall."""
        return EmptyHall(self.folder)


_HERE: Final[list[Worker]] = []
"""This process's one worker."""
Work = Callable[[Worker, range], Verdicts]


def share(making: Making, work: Work, seeds: range, most: int, tell: Callable[[Verdicts, int], None]) -> None:
    """Have seeds worked off by all processors, at most so many at a time; `tell` is told, in order, what came of them and the next seed."""
    step = min(most, -(-len(seeds) // _processes()))
    spans = [seeds[first : first + step] for first in range(0, len(seeds), step)]
    with _pool(making) as pool:
        # Not by `map`: broken off, it cancels what waits, and the pool then fails as it tells these that their process has ended.
        begun = [pool.submit(_Do(work), span) for span in spans]
        for span, one in zip(spans, begun, strict=True):
            tell(one.result(), span.stop)


@dataclass(frozen=True)
class _Do:
    """Does some work in the process in which it is called; nothing leaves the machine meanwhile, and nobody waits for a disk."""

    work: Work

    def __call__(self, seeds: range) -> Verdicts:
        with outside.nothing_leaves(), light_hashing(), engines.no_syncing():
            return self.work(_HERE[0], seeds)


def _begin(making: Making) -> None:
    _HERE.append(Worker(making))


def _processes() -> int:
    return os.cpu_count() or 1


@contextmanager
def _pool(making: Making) -> Iterator[ProcessPoolExecutor]:
    """Yield processes that share the work; where it is broken off, they do not finish what they have begun."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(_processes(), mp_context=context, initializer=_begin, initargs=(making,)) as pool:
        try:
            yield pool
        except BaseException:
            for process in multiprocessing.active_children():
                process.terminate()
            raise
