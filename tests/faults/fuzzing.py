"""Sends what nobody means: requests to every route on both engines, and files to every reader; many processes share the work."""

from __future__ import annotations

import multiprocessing
import os
import resource
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Final

from tests import outside
from tests.faults.fuzz.engines import a_stage, an_empty_hall, put_on_postgresql
from tests.faults.fuzz.ground import Ground as Built
from tests.faults.fuzz.ground import build
from tests.faults.fuzz.judging import Verdicts
from tests.faults.fuzz.readers import Place as ReadingPlace
from tests.faults.fuzz.readers import read_some, readers
from tests.faults.fuzz.routes import A_LIFE, live
from tests.faults.rows import Ground, Row, Told
from tests.hashing import light_hashing

LIVES_AT_ONCE: Final = 100
"""What one process is given at a time: its program learns its pages and statements anew each time."""
FILES_AT_ONCE: Final = 500
MOST_MEMORY: Final = 4 * 2**30
"""Bytes of addresses that a process of readers may have; what it held at most is counted."""
LEAST_READ: Final = 0.1
LEAST_GRANTED: Final = 0.3
"""Where fewer are granted what they ask, most are refused at the door and show little."""


def rows() -> list[Row]:
    """Return the rows."""
    return [
        Row("fuzz:sqlite", "requests that nobody means, to every route in process, on SQLite", partial(_routes, "sqlite", 25, 9_400)),
        Row("fuzz:postgresql", "the same on PostgreSQL, which is stricter with what it stores", partial(_routes, "postgresql", 12, 3_200)),
        Row("fuzz:readers", "damaged files to every reader: catalogues, pictures, class lists, answers, backups", _readers),
    ]


def _routes(engine: str, usual: int, long: int, ground: Ground, told: Told) -> None:
    folder = ground.place.folder / f"fuzz-{engine}"
    built, lives = build(folder), ground.of(usual, long)
    server = ground.server.dsn if engine == "postgresql" else ""
    if server:
        put_on_postgresql(built, folder, server)
    verdicts, step = Verdicts(), min(LIVES_AT_ONCE, -(-lives // _processes()))
    with _pool() as pool:
        spans = [range(ground.seed + first, ground.seed + min(first + step, lives)) for first in range(0, lives, step)]
        for one in pool.map(partial(_live_all, built, folder, server), spans):
            verdicts.add(one)
            told.progress = f"{verdicts.counts['requests']} requests of {lives * A_LIFE}, {len(verdicts.found)} kinds of findings"
    _tell(verdicts, told)


def _live_all(built: Built, folder: Path, server: str, seeds: range) -> Verdicts:
    """Live some lives in this process."""
    verdicts, place = Verdicts(), Path(tempfile.mkdtemp(dir=folder))
    with outside.nothing_leaves(), light_hashing(), a_stage(built, place, server) as stage:
        for seed in seeds:
            live(stage, seed, verdicts)
        verdicts.routes = {rule.endpoint for rule in stage.app.url_map.iter_rules()}
    return verdicts


def _readers(ground: Ground, told: Told) -> None:
    folder = ground.place.folder / "fuzz-readers"
    built, files = build(folder, share=0.0), ground.of(3_000, 200_000)
    put_on_postgresql(built, folder, ground.server.dsn)
    verdicts, step = Verdicts(), min(FILES_AT_ONCE, -(-files // _processes()))
    with _pool() as pool:
        spans = [range(ground.seed + first, ground.seed + min(first + step, files)) for first in range(0, files, step)]
        for one in pool.map(partial(_read_all, built, folder, ground.server.dsn), spans):
            verdicts.add(one)
            told.progress = f"{verdicts.counts['files']} files of {files}, {len(verdicts.found)} kinds of findings"
    memory = verdicts.counts.pop("MiB at most")
    for name in sorted(verdicts.counts):
        told.count(name, verdicts.counts[name])
    told.count("MiB at most", memory)
    refused = sum(count for name, count in verdicts.counts.items() if name.endswith(" refused"))
    told.wants(LEAST_GRANTED * files < refused < (1 - LEAST_READ) * files, "nearly all files were refused, or nearly none")
    told.lost += verdicts.told()


def _read_all(built: Built, folder: Path, server: str, seeds: range) -> Verdicts:
    """Read some files in this process: what is imported goes to SQLite or PostgreSQL, by turns of processes."""
    verdicts, place = Verdicts(), Path(tempfile.mkdtemp(dir=folder))
    on = server if seeds.start // FILES_AT_ONCE % 2 else ""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    with outside.nothing_leaves(), a_stage(built, place / "hall", on) as stage, an_empty_hall(place) as empty:
        known = readers((folder / "ground.zip").read_bytes())
        read_some(ReadingPlace(place, stage, empty), known, seeds, verdicts)
    verdicts.counts["MiB at most"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return verdicts


def _tell(verdicts: Verdicts, told: Told) -> None:
    counts = verdicts.counts
    for name in ("requests", "granted", "granted that change something", "2xx", "3xx", "4xx", "5xx", "raised", "to no route"):
        told.count(name, counts[name])
    told.count("routes", len(verdicts.routes))
    told.wants(verdicts.routes <= verdicts.asked, f"routes that nobody asked: {sorted(verdicts.routes - verdicts.asked)[:9]}")
    told.count("routes reached", len(verdicts.reached))
    told.count("routes that granted", len(verdicts.granted))
    told.wants(counts["granted"] > LEAST_GRANTED * counts["requests"], "most requests were refused at the door")
    told.lost += verdicts.told()


def _processes() -> int:
    return os.cpu_count() or 1


@contextmanager
def _pool() -> Iterator[ProcessPoolExecutor]:
    """Yield processes that share the work; where it is broken off, they do not finish what they have begun."""
    with ProcessPoolExecutor(_processes(), mp_context=multiprocessing.get_context("spawn")) as pool:
        try:
            yield pool
        except BaseException:
            for process in multiprocessing.active_children():
                process.terminate()
            raise
