"""Stops PostgreSQL as a crash would and starts it again, while people use the hall; and has one batch sent twice at once."""

from __future__ import annotations

import threading
import time
from functools import partial
from typing import Any, Final

from tests import engines
from tests.faults.checking import losses, rebuilt
from tests.faults.halls import LEARNERS, Serving, serving
from tests.faults.loading import Learner, Ledger, Load
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

BACK_SECONDS: Final = 30.0
"""A server that is not back by then has not recovered by itself."""


def rows() -> list[Row]:
    """Return the rows."""
    return [
        Row("stop:postgresql", "PostgreSQL stopped at once and started again under two servers at work", _stops),
        *(
            Row(f"twice:{engine}", f"one batch sent by two processes at once, on {engine}", partial(_twice, engine))
            for engine in engines.ENGINES
        ),
    ]


def _stops(ground: Ground, told: Told) -> None:
    dice = ground.dice("stop")
    hall = ground.place.hall("postgresql")
    with serving(hall, processes=2) as servers:
        load = Load([server.port for server in servers], f"stop {dice.random()}")
        load.sign_in()
        for number in range(ground.of(5, 40)):
            with load.at_work():
                load.wait_for(dice.randint(1, 30))
                ground.server.stop()
                try:
                    time.sleep(dice.uniform(0.2, 1.0))
                    _while_away(servers, load, told)
                finally:
                    ground.server.start(engines.LASTING)
                for server in servers:
                    told.wants(server.wait("/ready", seconds=BACK_SECONDS) < BACK_SECONDS, "a server did not come back by itself")
                load.wait_for(8)
            told.count("stops")
            told.lost += [f"after stop {number + 1}: {one}" for one in losses(hall, load.ledger)]
        load.settle()
    told.count("answers", len(load.ledger.known))
    told.count("answered 503", load.ledger.counts["status 503"])
    told.count("batches sent again", load.ledger.counts["batches sent again"])
    told.lost += [*load.ledger.strange, *losses(hall, load.ledger), *rebuilt(hall)]


def _while_away(servers: list[Serving], load: Load, told: Told) -> None:
    """Look how each server answers while its database is away."""
    visitor = load.actors[0].visitor
    for server in servers:
        health, ready = (visitor.ask("GET", path, port=server.port) for path in ("/health", "/ready"))
        page = visitor.ask("GET", "/", port=server.port)
        told.wants(health.status == 200, f"/health says {health.status} while the database is away")
        told.wants(ready.status == 503, f"/ready says {ready.status} while the database is away")
        told.wants(page.status == 503 and "Retry-After" in page.headers, f"a page says {page.status} while the database is away")
        told.wants("Traceback" not in page.words and "busy or away" in page.words, "a page does not say that the database is away")


def _twice(engine: str, ground: Ground, told: Told) -> None:
    dice = ground.dice(f"twice {engine}")
    hall, ledger = ground.place.hall(engine), Ledger()
    with serving(hall, processes=2) as servers:
        ports = [server.port for server in servers]
        learner = Learner(Visitor(LEARNERS[0], ports, dice), ledger)
        learner.visitor.sign_in()
        for _ in range(ground.of(30, 400)):
            while not learner.waiting:
                learner.step()
            batch = [learner.waiting.popleft() for _ in range(min(3, len(learner.waiting)))]
            learner.prepare(batch)
            _send_at_once(learner.visitor, ports, [batch, batch[::-1] if dice.random() < 0.5 else batch], ledger, told)
    told.count("answers", len(ledger.known))
    told.lost += [*ledger.strange, *losses(hall, ledger), *rebuilt(hall)]


def _send_at_once(visitor: Visitor, ports: list[int], batches: list[list[dict[str, Any]]], ledger: Ledger, told: Told) -> None:
    """Send one batch to each process at the same moment; one must say *stored* of each answer, the other *known*."""
    gate, replies = threading.Barrier(len(ports)), list[Any]()

    def send(port: int, batch: list[dict[str, Any]]) -> None:
        gate.wait()
        replies.append(visitor.post_json("/drills/answers", {"answers": batch}, port=port))

    threads = [threading.Thread(target=send, args=pair) for pair in zip(ports, batches, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    ids = sorted(answer["id"] for answer in batches[0])
    told.count("batches sent twice")
    if [reply.status for reply in replies] != [200] * len(ports):
        told.lost.append(f"answers: {[(reply.status, reply.words[:300]) for reply in replies]}")
        return
    stored, known = (sorted(one for reply in replies for one in reply.json[what]) for what in ("stored", "known"))
    told.wants(stored == ids, f"stored: {stored}, not each of {ids} once")
    told.wants(known == ids, f"known: {known}, not each of {ids} once")
    ledger.known.update(stored, known)
