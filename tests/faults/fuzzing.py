"""Sends what nobody means: requests to every route on both engines, and files to every reader; many processes share the work."""

from __future__ import annotations

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Final

from tests import engines
from tests.faults.fuzz.engines import BACKUP, put_on_postgresql
from tests.faults.fuzz.ground import build
from tests.faults.fuzz.judging import Verdicts
from tests.faults.fuzz.readers import Place, read_some, readers
from tests.faults.fuzz.routes import A_LIFE, live
from tests.faults.fuzz.sharing import Making, Work, Worker, share
from tests.faults.rows import Ground, Row, Told

LIVES_AT_ONCE: Final = 10
"""What one process is given at a time; where a row is broken off, what has not been told yet is not counted."""
FILES_AT_ONCE: Final = 250
MOST_MEMORY: Final = 4 * 2**30
"""Bytes of addresses that a process of readers may have; what it held at most is counted."""
OF_REQUESTS: Final = ("requests", "granted", "granted that change something", "2xx", "3xx", "4xx", "5xx", "raised", "to no route")
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
    lives = ground.of(usual, long)
    with _making(f"fuzz-{engine}", 1.0, ground, on_postgresql=engine == "postgresql") as making:
        verdicts = _drill(making, _live_all, _seeds(ground, lives), LIVES_AT_ONCE, told)
    told.wants(verdicts.counts["requests"] == lives * A_LIFE, "other requests were sent than were to be")
    told.wants(verdicts.routes <= verdicts.asked, f"routes that nobody asked: {sorted(verdicts.routes - verdicts.asked)[:9]}")
    told.wants(verdicts.counts["granted"] > LEAST_GRANTED * verdicts.counts["requests"], "most requests were refused at the door")


def _live_all(worker: Worker, seeds: range) -> Verdicts:
    """Live some lives in this process."""
    verdicts, stage = Verdicts(), worker.stage(worker.making.server)
    for seed in seeds:
        live(stage, seed, verdicts)
    verdicts.routes = {rule.endpoint for rule in stage.app.url_map.iter_rules()}
    return verdicts


def _readers(ground: Ground, told: Told) -> None:
    files = ground.of(3_000, 200_000)
    with _making("fuzz-readers", 0.0, ground, on_postgresql=True) as making:
        verdicts = _drill(making, _read_all, _seeds(ground, files), FILES_AT_ONCE, told)
    refused = sum(count for name, count in verdicts.counts.items() if name.endswith(" refused"))
    told.wants(LEAST_GRANTED * files < refused < (1 - LEAST_READ) * files, "nearly all files were refused, or nearly none")


def _read_all(worker: Worker, seeds: range) -> Verdicts:
    """Read some files in this process: what is imported goes to SQLite and PostgreSQL, by turns."""
    verdicts = Verdicts()
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    known = readers((worker.making.folder / BACKUP).read_bytes())
    for seed in seeds:
        place = Place(worker.folder, worker.stage(worker.making.server if seed % 2 else ""), worker.empty)
        read_some(place, known, range(seed, seed + 1), verdicts)
    verdicts.counts["MiB at most"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return verdicts


@contextmanager
def _making(name: str, share: float, ground: Ground, *, on_postgresql: bool) -> Iterator[Making]:
    """Build a hall of which others are made; PostgreSQL does not wait for its disk meanwhile, as no crash is drilled."""
    folder = ground.place.folder / name
    built = build(folder, share=share)
    if not on_postgresql:
        yield Making(built, folder)
        return
    ground.server.stop()
    ground.server.start(f"{engines.LASTING} {engines.QUICK}")
    try:
        put_on_postgresql(built, folder, ground.server.dsn)
        yield Making(built, folder, ground.server.dsn)
    finally:
        ground.server.stop()
        ground.server.start(engines.LASTING)


def _seeds(ground: Ground, count: int) -> range:
    return range(ground.seed, ground.seed + count)


def _drill(making: Making, work: Work, seeds: range, most: int, told: Told) -> Verdicts:
    """Have seeds worked off, and tell what came of them; of those before, where it is broken off."""
    verdicts = Verdicts()

    def tell(one: Verdicts, following: int) -> None:
        verdicts.add(one)
        done = f"{following - seeds.start} of {len(seeds)} seeds, on to --seed {following}"
        told.progress = f"{done}; kinds of findings: {sorted(verdicts.found) or 'none'}"

    try:
        share(making, work, seeds, most, tell)
    finally:
        _tell(verdicts, told)
    return verdicts


def _tell(verdicts: Verdicts, told: Told) -> None:
    asked = (("routes", verdicts.routes), ("routes reached", verdicts.reached), ("routes that granted", verdicts.granted))
    for name in OF_REQUESTS if verdicts.asked else sorted(verdicts.counts):
        told.count(name, verdicts.counts[name])
    for name, routes in asked if verdicts.asked else ():
        told.count(name, len(routes))
    told.lost += verdicts.told()
