"""Kills servers by SIGKILL at random instants while people use the hall, and looks after each kill what was lost."""

from __future__ import annotations

import time
from functools import partial
from random import Random
from typing import Final

from tests.faults.checking import losses, rebuilt, swept
from tests.faults.halls import Hall, Serving, serving
from tests.faults.loading import Ledger, Load
from tests.faults.rows import Ground, Row, Told

KILLS_A_HALL: Final = 20
MOST_REPLIES: Final = 24
"""How many answers are waited for at most before a kill, so that people are at work whatever else the machine does."""
LONGEST_SECONDS: Final = 0.4
"""And how long on top of them, so that it falls anywhere within a request."""
AS_IT_STARTS: Final = 0.12
"""How often a server is killed before it answers."""


def rows() -> list[Row]:
    """Return the rows: one process on a file, two on a PostgreSQL."""
    return [
        Row("kill:sqlite", "one server on SQLite killed at random instants under load", partial(_kills, "sqlite", 1)),
        Row("kill:postgresql", "two servers on PostgreSQL killed at random instants under load", partial(_kills, "postgresql", 2)),
    ]


def _kills(engine: str, processes: int, ground: Ground, told: Told) -> None:
    dice = ground.dice(f"kill {engine}")
    wanted = ground.of({"sqlite": 40, "postgresql": 30}[engine], {"sqlite": 560, "postgresql": 460}[engine])
    while told.counts.get("kills", 0) < wanted:
        hall = ground.place.hall(engine)
        ledger = kill_some(hall, dice, told, kills=min(KILLS_A_HALL, wanted - told.counts.get("kills", 0)), processes=processes)
        told.lost += [*rebuilt(hall), *losses(hall, ledger)]


def kill_some(hall: Hall, dice: Random, told: Told, *, kills: int, processes: int = 1, busy: int = MOST_REPLIES) -> Ledger:
    """Kill servers of one hall so often under one load, then let it settle; tell what was counted and lost, and return the ledger."""
    done = 0
    with serving(hall, processes=processes) as servers:
        load = Load([server.port for server in servers], f"load {dice.random()}", learners=busy // 6)
        load.sign_in()
        while done < kills:
            with load.at_work():
                load.wait_for(dice.randint(1, busy))
                time.sleep(dice.uniform(0.0, LONGEST_SECONDS))
                killed = dice.sample(servers, dice.randint(1, min(len(servers), kills - done)))
                for server in killed:
                    server.end()
            done += len(killed)
            told.lost += [f"after kill {done}: {one}" for one in losses(hall, load.ledger)]
            done += _start_again(killed, dice, kills - done)
            told.progress = f"{told.counts.get('kills', 0) + done} kills, {len(load.ledger.known)} answers of this hall"
        load.settle()
        told.lost += losses(hall, load.ledger)
    told.lost += load.ledger.strange
    told.wants(load.ledger.is_settled, "not all that was sent was acknowledged in the end")
    _count(told, load, done)
    left, over = swept(hall)
    told.count("files left by breaks, swept", left)
    told.lost += [*over, *losses(hall, load.ledger)]
    return load.ledger


def _start_again(killed: list[Serving], dice: Random, may: int) -> int:
    """Start what was killed; now and then kill it once more before it answers. Return how often."""
    again = 0
    for server in killed:
        if again < may and dice.random() < AS_IT_STARTS:
            server.start(wait=False)
            time.sleep(dice.uniform(0.0, 1.2))
            server.end()
            again += 1
        server.start()
    return again


def _count(told: Told, load: Load, kills: int) -> None:
    ledger = load.ledger
    told.count("kills", kills)
    told.count("answers", len(ledger.known))
    told.count("batches sent again", ledger.counts["batches sent again"])
    told.count("requests cut off", ledger.counts["cut off"])
    told.count("pictures", len(ledger.pictures_known))
    told.count("imports", len(ledger.catalogues_known))
