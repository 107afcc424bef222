"""Lets an open hall do after a day what it does by itself, while people use it: sweep what uploads left behind, which is never something
in use, and write its database's files anew after an erasure, which keeps nobody from what she does and leaves what is large to the keeper.
"""

from __future__ import annotations

import os
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Final

from sqlalchemy import text, update

from drillhall.acts.erase_person import clear_files
from drillhall.errors import Unavailable
from drillhall.people import erasing
from drillhall.pictures.sweeping import REMEMBERED
from drillhall.store.models.people import SettingRow
from drillhall.store.models.post import JobRow
from drillhall.store.rewriting import MOST_BYTES
from drillhall.store.session import Store
from tests.acts.pictures import jpeg
from tests.engines import ENGINES
from tests.faults.checking import losses, rebuilt
from tests.faults.erased import HER, a_hall, files_of, left_in_files, let_files_be_written, signs_in
from tests.faults.halls import Hall, enrol, serving
from tests.faults.loading import Learner, Ledger, Load
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

A_DAY: Final = timedelta(hours=25)
LEFT: Final = ("broken-off/original.jpg", "broken-off/medium.webp")
BUSY: Final = 8
"""How many answers come before, and then after, what is done meanwhile."""
FEW: Final = 5
"""One file without a row to so many is more than uploads leave that broke off."""
MOST_TRIES: Final = 20
HOLDS: Final = {"sqlite": "SELECT count(*) FROM answer", "postgresql": "LOCK answer IN ACCESS SHARE MODE"}
"""What keeps the files from being written anew: somebody who reads SQLite's log on, or one of PostgreSQL's tables."""


def rows() -> list[Row]:
    """Return the rows."""
    sweeps = "the sweep of days under load on {}: what broke off goes after a day, and nothing that is in use"
    writes = "files written anew after an erasure under load on {}: refused while in use, what is large left to the keeper, who is told"
    return [
        *(Row(f"swept:{engine}", sweeps.format(engine), partial(_sweeps, engine)) for engine in ENGINES),
        *(Row(f"rewritten:{engine}", writes.format(engine), partial(_rewrites, engine)) for engine in ENGINES),
    ]


def _sweeps(engine: str, ground: Ground, told: Told) -> None:
    hall = ground.place.hall(engine)
    with serving(hall, processes=2) as servers:
        load = Load([server.port for server in servers], f"swept {ground.seed}")
        load.sign_in()
        fresh = _leave(hall, *LEFT)
        for day in range(ground.of(3, 40)):
            _one_day(hall, load, set(LEFT) if day else set(), told)
            told.wants(fresh.exists(), "a file that was just being written was let go")
        told.wants(not set(LEFT) & set(hall.storage.keys()), "what an upload left behind was not let go in days")
        _leaves_many_to_the_keeper(hall, load, told)
        load.settle()
    fresh.unlink(missing_ok=True)
    told.count("pictures", len(load.ledger.pictures_known))
    told.count("answers", len(load.ledger.known))
    told.lost += [*load.ledger.strange, *losses(hall, load.ledger), *rebuilt(hall)]


def _leave(hall: Hall, *keys: str) -> Path:
    """Leave what broken-off uploads leave: files without a row, one half-written two days ago, and one that is being written: its path."""
    for key in keys:
        hall.storage.put(key, jpeg(1))
    old, fresh = (hall.storage.folder / f".unfinished-{age}" for age in ("old", "fresh"))
    for path in (old, fresh):
        path.write_bytes(b"half")
    two_days_ago = (datetime.now(UTC) - timedelta(days=2)).timestamp()
    os.utime(old, (two_days_ago, two_days_ago))
    return fresh


def _one_day(hall: Hall, load: Load, may_go: set[str], told: Told) -> None:
    """Let the hall do its work amid what people do, and a day pass over what it found: whoever was at it has long been answered."""
    before = set(hall.storage.keys())
    with load.at_work():
        load.wait_for(BUSY)
        _work_now(hall, told)
        load.wait_for(BUSY)
    gone = before - set(hall.storage.keys())
    told.wants(gone <= may_go, f"the sweep let go {sorted(gone - may_go)[:3]}")
    told.count("files let go", len(gone))
    told.count("files there at a sweep", len(before))
    with hall.store() as store, store.work() as db:
        row = db.get(SettingRow, REMEMBERED)
        if row is not None:
            row.value = {key: (datetime.fromisoformat(at) - A_DAY).isoformat() for key, at in row.value.items()}


def _work_now(hall: Hall, told: Told) -> None:
    with hall.store() as store, store.work() as db:
        db.execute(update(JobRow).values(due_at=datetime.now(UTC)))
    done = hall.command("work", "--once")
    told.wants(done.returncode == 0, f"the hall's work ended with {done.returncode}: {done.stderr[-1000:]}")
    told.count("rounds of work")


def _leaves_many_to_the_keeper(hall: Hall, load: Load, told: Told) -> None:
    """Leave more than one file to ten that have a row: whether they may go is for the keeper to say, who then says it."""
    many = {f"many/{number}.jpg" for number in range(len(set(hall.storage.keys())) // FEW)}
    _leave(hall, *many)
    for _ in range(2):
        _one_day(hall, load, set(), told)
    told.wants(many <= set(hall.storage.keys()), "of many files without a row some went unasked")
    with load.at_work():
        load.wait_for(BUSY)
        done = hall.command("pictures", "sweep", "--delete")
        load.wait_for(BUSY)
    told.wants(done.returncode == 0, f"the keeper's sweep ended with {done.returncode}: {done.stderr[-1000:]}")
    told.wants(not many & set(hall.storage.keys()), "the keeper's sweep let files be that no picture has")
    told.count("left to the keeper", len(many))


def _rewrites(engine: str, ground: Ground, told: Told) -> None:
    with a_hall(engine, ground) as (hall, files):
        enrol(hall, HER)
        with serving(hall, processes=2) as servers:
            ports = [server.port for server in servers]
            load, her = Load(ports, f"rewritten {ground.seed}"), Visitor(HER, ports, ground.dice(f"rewritten {engine}"))
            load.sign_in()
            signs = _drills(her)
            let_files_be_written(hall)
            told.wants(signs_in(files_of(files), signs) == signs, "not all of her was in the database's own files")
            with load.at_work():
                load.wait_for(BUSY)
                gone = her.post_form("/you/erase", passphrase=HER.passphrase, for_good="on", pictures="take")
                told.wants(gone.status == 303, f"erasing answered {gone.status}: {gone.words[:500]}")
                for step in (_is_refused_in_use, _leaves_what_is_large, _is_done_by_the_keeper):
                    step(hall, told)
                    load.wait_for(BUSY)
            load.settle()
        told.count("answers", len(load.ledger.known))
        told.count("turned away meanwhile", load.ledger.counts["status 503"])
        told.lost += [*load.ledger.strange, *losses(hall, load.ledger), *rebuilt(hall), *left_in_files(hall, files, signs, told)]


def _drills(her: Visitor) -> frozenset[bytes]:
    """Let her drill, and return what tells of her: her name and her answers' ids."""
    her.sign_in()
    learner = Learner(her, Ledger())
    while len(learner.ledger.known) < BUSY:
        learner.step()
    return frozenset(sign.encode() for sign in (HER.name, *learner.ledger.known))


def _is_refused_in_use(hall: Hall, told: Told) -> None:
    """While somebody has what is to be written anew, it is left for the next hour, and is not forgotten."""
    with hall.store() as held, hall.store() as store:
        with held.look() as db:
            db.execute(text(HOLDS["sqlite" if hall.is_sqlite else "postgresql"]))
            told.count("refused while in use", not _clears(store, MOST_BYTES))
        told.wants(_is_noted(store), "files in use were taken as written anew")


def _leaves_what_is_large(hall: Hall, told: Told) -> None:
    """What is over the bound is left as it is, the rest is written anew, and the keeper is told."""
    with hall.store() as store:
        large = ["hall.sqlite"] if hall.is_sqlite else ["answer"]
        with store.look() as db:
            bound = 0 if hall.is_sqlite else (db.scalar(text("SELECT pg_total_relation_size('answer')")) or 0) - 1
        told.wants(any(_clears(store, bound) for _ in range(MOST_TRIES)), f"in {MOST_TRIES} rounds files were not written anew")
        with store.look() as db:
            told.wants(set(large) <= set(erasing.list_spared(db)), "what is large was not noted as left to the keeper")
    doctor = hall.command("doctor").stdout
    told.wants("? erased     " in doctor and large[0] in doctor, f"the keeper is not told of what is large: {doctor}")


def _is_done_by_the_keeper(hall: Hall, told: Told) -> None:
    """Whatever size it has, the keeper's command writes it anew; where something is in use it says so, and goes another time."""
    for _ in range(MOST_TRIES):
        done = hall.command("rewrite")
        if done.returncode == 0:
            break
        told.wants(
            "Run it once more" in done.stderr or "busy" in done.stderr, f"rewrite ended with {done.returncode}: {done.stderr[-500:]}"
        )
        told.count("the keeper was asked to come again")
    told.wants(done.returncode == 0, f"the keeper could not have files written anew: {done.stderr[-500:]}")
    told.wants(
        "Nothing is left to do for whoever was erased" in hall.command("doctor").stdout, "doctor still tells of what was written anew"
    )


def _clears(store: Store, most: float) -> bool:
    """Do what the hall does each hour, and return whether it need not be done again."""
    with suppress(Unavailable):
        clear_files(store, most=most)
    return not _is_noted(store)


def _is_noted(store: Store) -> bool:
    with store.look() as db:
        return bool(erasing.noted_in_files(db))
