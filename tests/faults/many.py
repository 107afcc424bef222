"""Many at once, on PostgreSQL, two processes behind the README's nginx: what a second of a core serves beside one process, what happens at
twice what can be borne, whether it recovers by itself, and a restart of one process after the other under load.
"""

from __future__ import annotations

import signal
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from statistics import fmean, median
from typing import Final

from sqlalchemy import text

from tests.faults.checking import losses, rebuilt
from tests.faults.crowds import Crowd, Seen, gather
from tests.faults.halls import Hall, Serving, serving
from tests.faults.proxying import behind, proxied
from tests.faults.rows import Ground, Row, Told

LEAST_OF_ONE: Final = 0.85
"""What two processes serve in a second of a core is at least so much of what one does."""
LIGHT: Final = 0.4
"""What is asked before the overload and after it, as a part of what can be borne."""
MOST_SLOWER: Final = 3.0
"""How many times as long an answer may take, in the median, once the overload is over."""
SHORT_SECONDS: Final = 2.0
"""Or how long in any case."""
FEW: Final = 12
WARM: Final = 40
"""Requests of each after which everybody has signed in, has the hall's files, and has drilled."""
TWICE: Final = 2.0
MOST_GIVE_UP: Final = 0.05
"""On a machine with much else to do, whoever was let in last may wait longer than a visitor does; she asks again, as after 503."""
SIZE: Final = "SELECT pg_database_size(current_database())"
ANSWER: Final = "SELECT pg_total_relation_size('answer')"
CONNECTIONS: Final = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"


def rows() -> list[Row]:
    """Return the rows."""
    return [
        Row("many:crowd", "a crowd before two processes, then at twice what they bear, then as before", _crowd),
        Row("many:restart", "two processes restarted one after the other under load", _restart),
    ]


@dataclass(frozen=True)
class Yields:
    """What was granted in a second of the servers' cores, by one process and by two, and in a second of the clock by two."""

    one: float
    two: float
    borne: float


@contextmanager
def three(hall: Hall, few: int, many: int, dice: Random) -> Iterator[tuple[list[Serving], Crowd, Crowd]]:
    """Yield three servers of a hall; few people go to the first one, and many to the other two."""
    people, leaders = gather(hall, few + many)
    with serving(behind(hall), processes=3) as servers, ExitStack() as both:
        one = both.enter_context(proxied(hall.folder / "nginx-one", servers[:1]))
        two = both.enter_context(proxied(hall.folder / "nginx-two", servers[1:]))
        yield servers, Crowd(one, people[:few], leaders, dice), Crowd(two, people[few:], leaders, dice)


def yields(servers: Sequence[Serving], alone: Crowd, pair: Crowd, *, slices: int, seconds: float) -> Yields:
    """Let the few, and as many of the many, work in turns, as fast as they are answered, once they have signed in and each page is warm."""
    members = len(alone.members)
    granted, used = {1: 0, 2: 0}, {1: 0.0, 2: 0.0}
    for crowd in (alone, pair):
        with crowd.at_work(members):
            wait_until(lambda crowd=crowd: len(_granted(crowd)) >= WARM * members, 200)  # type: ignore[misc]
    for turn in range(2 * slices):
        both = [(1, alone, servers[:1]), (2, pair, servers[1:])]
        for key, crowd, theirs in both if turn % 2 == 0 else reversed(both):
            before, seen = sum(map(cpu_seconds, theirs)), len(_granted(crowd))
            with crowd.at_work(members):
                time.sleep(seconds / 2)
            used[key] += sum(map(cpu_seconds, theirs)) - before
            granted[key] += len(_granted(crowd)) - seen
    return Yields(granted[1] / used[1], granted[2] / used[2], granted[2] / (slices * seconds))


def cpu_seconds(server: Serving) -> float:
    """Return how long a server's threads have run, by the kernel's own clock (Documentation/scheduler/sched-stats.rst: nanoseconds)."""
    assert server.process is not None
    total = 0
    for told in Path(f"/proc/{server.process.pid}/task").glob("*/schedstat"):
        total += int(told.read_text().split()[0])
    return total / 1e9


def wait_until(holds: object, seconds: float) -> None:
    """Wait until it holds, or raise RuntimeError."""
    until = time.monotonic() + seconds
    while not holds():  # type: ignore[operator]
        if time.monotonic() > until:
            raise RuntimeError(f"that was not so in {seconds:.0f} seconds")
        time.sleep(0.05)


def _granted(crowd: Crowd) -> list[Seen]:
    return [one for one in crowd.seen if 0 < one.status < 400]


def _failed(seen: list[Seen]) -> list[tuple[str, int]]:
    """Return what some were asked and answered where that was no answer (0) or a fault of the hall."""
    return [(one.kind, one.status) for one in seen if not 0 < one.status < 500][:9]


def _crowd(ground: Ground, told: Told) -> None:
    hall = ground.place.hall("postgresql")
    with three(hall, FEW, ground.of(200, 500), ground.dice("many")) as (servers, alone, pair):
        bytes_before = _number(hall, SIZE)
        found = yields(servers, alone, pair, slices=ground.of(2, 6), seconds=8)
        told.count("served in 10 s of a core, one process", round(10 * found.one))
        told.count("two processes", round(10 * found.two))
        told.wants(found.two >= LEAST_OF_ONE * found.one, f"two processes serve {found.two:.1f}, one {found.one:.1f} in a second of a core")
        _tell_kinds(servers[0], alone, told, seconds=ground.of(12, 60))
        servers[0].end(signal.SIGTERM)
        _too_many(pair, found.borne, ground, told)
        told.count("connections of two processes", _number(hall, CONNECTIONS) - 1)
        alone.settle()
        pair.settle()
    ledger = pair.ledger
    told.lost += [*alone.ledger.strange, *ledger.strange]
    ledger.sent |= alone.ledger.sent
    ledger.known |= alone.ledger.known
    told.wants(ledger.is_settled, "not all that was sent was acknowledged in the end")
    told.count("answers", len(ledger.known))
    told.count("bytes of an answer with its indexes", _number(hall, ANSWER) // len(ledger.known))
    told.count("bytes of an answer and all that comes with it", (_number(hall, SIZE) - bytes_before) // len(ledger.known))
    told.lost += [*losses(hall, ledger), *rebuilt(hall)]


def _number(hall: Hall, question: str) -> int:
    with hall.store() as store, store.look() as db:
        return int(db.scalar(text(question)) or 0)


def _tell_kinds(server: Serving, crowd: Crowd, told: Told, *, seconds: float) -> None:
    """Let one alone work, and tell what each kind of request costs, in thousandths of a millisecond of a core."""
    (member, *_), began = crowd.members, time.monotonic()
    member.clock = lambda: cpu_seconds(server)
    crowd.every = 0.0
    with crowd.at_work(1):
        time.sleep(seconds)
    member.clock = float
    seen = [one for one in member.seen if one.began >= began and 0 < one.status < 400]
    for kind in sorted({one.kind for one in seen}):
        told.count(f"µs {kind}", round(1e6 * fmean(one.cpu for one in seen if one.kind == kind)))


def _too_many(pair: Crowd, borne: float, ground: Ground, told: Told) -> None:
    """Ask little, then twice what can be borne, then little again; at length, and all of them, once everybody is in and has the files."""
    everybody, few = len(pair.members), len(pair.members) // 8
    calm = _at(pair, few, LIGHT * borne, ground.of(10, 60))
    full = _pressed(pair, borne, ground.of(15, 120))
    _at(pair, few, LIGHT * borne, 6)  # until all that waited is answered
    after = _at(pair, ground.of(few, everybody), LIGHT * borne, ground.of(10, 600))
    shed = [one for one in full if one.status == 503]
    granted = sum(0 < one.status < 400 for one in full)
    told.count("asked when it was too many", len(full))
    told.count("granted", granted)
    told.count("turned away", len(shed))
    told.count("median before, ms", round(1000 * median(one.seconds for one in calm)))
    told.count("in it", round(1000 * median(one.seconds for one in full if 0 < one.status < 400)))
    told.count("after", round(1000 * median(one.seconds for one in after)))
    told.wants(bool(shed), "twice what can be borne, and nobody was turned away")
    told.wants(len(full) >= TWICE * granted, "less than twice was asked of what was borne: have more people ask")
    told.wants(not _failed(calm), f"somebody was turned away, or saw an error, before it was too many: {_failed(calm)}")
    gave_up = sum(one.status == 0 for one in full)
    told.count("gave up after 30 s", gave_up)
    told.wants(gave_up <= MOST_GIVE_UP * len(full), f"{gave_up} of {len(full)} waited in vain while it was too many")
    odd = sorted({one.status for one in full} - {0, 200, 201, 303, 503})
    told.wants(not odd, f"while it was too many, some were answered {odd}")
    told.wants(not _failed(after), f"somebody was turned away, or saw an error, once it was over: {_failed(after)}")
    slower = median(one.seconds for one in after)
    most = max(SHORT_SECONDS, MOST_SLOWER * median(one.seconds for one in calm))
    told.wants(slower <= most, f"once it was over an answer took {slower:.1f} s in the median, more than {most:.1f}")


def _pressed(pair: Crowd, borne: float, seconds: float) -> list[Seen]:
    """Let all of them ask twice as much as can be borne: more and more, until it is so, since what can be borne hangs on what is asked."""
    for harder in (TWICE, 4 * TWICE, 64 * TWICE):
        seen = _at(pair, len(pair.members), harder * borne, seconds)
        if len(seen) >= TWICE * sum(0 < one.status < 400 for one in seen):
            break
    return seen


def _at(crowd: Crowd, members: int, a_second: float, seconds: float) -> list[Seen]:
    """Let so many work so that together they ask so often, and return what they saw."""
    crowd.every = members / a_second
    began = time.monotonic()
    with crowd.at_work(members):
        time.sleep(seconds)
    return [one for one in crowd.seen if one.began >= began]


def _restart(ground: Ground, told: Told) -> None:
    hall = ground.place.hall("postgresql")
    people, leaders = gather(hall, 8)
    with serving(behind(hall), processes=2) as servers, proxied(hall.folder / "nginx", servers) as proxy:
        crowd = Crowd(proxy, people, leaders, ground.dice("restart"))
        crowd.every = 0.4
        with crowd.at_work():
            wait_until(lambda: all(member.is_in for member in crowd.members) and crowd.ledger.known, 120)  # so that answers are under way
            for _ in range(ground.of(3, 40)):
                for server in servers:
                    before = len(crowd.seen)
                    told.wants(server.end(signal.SIGTERM) == 0, "a server that was told to end ended otherwise")
                    server.start()
                    server.wait("/ready")
                    told.count("restarts")
                    wait_until(lambda before=before: len(crowd.seen) > before + 20, 60)  # type: ignore[misc]
        crowd.settle()
        told.count("requests", len(crowd.seen))
        told.count("found a door shut, and passed on", sum("Connection refused" in one for one in proxy.complaints))
        wrong = [one for one in crowd.seen if not 0 < one.status < 400]
        told.wants(not wrong, f"{len(wrong)} requests saw an error: {[(one.kind, one.status) for one in wrong[:9]]}")
        told.lost += [one for one in proxy.complaints if "refused" not in one][:9] if wrong else []
    told.count("answers", len(crowd.ledger.known))
    told.lost += [*crowd.ledger.strange, *losses(hall, crowd.ledger), *rebuilt(hall)]
