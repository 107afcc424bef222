"""Grown halls on either engine, each built once a run, copied for whoever writes in it, and shared by those who only read."""

from __future__ import annotations

import atexit
import os
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from sqlalchemy import create_engine, event, text
from sqlalchemy.engine import make_url

from drillhall.store.base import Row
from drillhall.store.session import Store
from tests import engines
from tests.bench.grown.catalogue import write_catalogue
from tests.bench.grown.cloning import clone
from tests.bench.grown.founders import A_DRILL, EACH, FOUNDERS, ready_drills, write, write_founders

PAIRS: Final = 60
READY: Final = 40

_names = count(1)
_held = ExitStack()
atexit.register(_held.close)


@contextmanager
def closing_halls() -> Iterator[None]:
    """Let go of every hall built meanwhile, and of the server that holds some of them."""
    try:
        yield
    finally:
        _held.close()  # a hall that goes asks its server, so that one is forgotten after
        for kept in (to_read, _built, _folder, _server):
            kept.cache_clear()


@dataclass(frozen=True)
class Sort:
    """What a hall is to hold: so many answers in all, a hundred a learner; or a learner's own so many, among nine others."""

    answers: int = 1000
    own: int = EACH
    pairs: int = PAIRS

    @property
    def learners(self) -> int:
        """How many learn in it."""
        return max(self.answers // EACH, FOUNDERS)


@contextmanager
def a_hall(engine: str, sort: Sort) -> Iterator[Store]:
    """Yield a hall of that sort to write in; it is gone afterwards."""
    built = _built(engine, sort)
    if engine == "sqlite":
        with TemporaryDirectory(dir=_folder()) as folder:
            store = Store(f"sqlite:///{_copied(built, Path(folder) / 'hall.sqlite')}")
            try:
                yield store
            finally:
                store.close()
        return
    name = f"copy{next(_names)}"
    _ask_server(f"CREATE DATABASE {name} TEMPLATE {built} STRATEGY FILE_COPY")
    store = Store(_address(name))
    try:
        yield store
    finally:
        store.close()
        _ask_server(f"DROP DATABASE {name} WITH (FORCE)")


def _copied(built: str, path: Path) -> Path:
    """Copy a hall's file on to the disk, so that whoever commits to the copy first does not write all of it out."""
    shutil.copy(built, path)
    with path.open("rb+") as copy:
        os.fsync(copy.fileno())
    return path


@cache
def to_read(engine: str, sort: Sort) -> Store:
    """Return a hall of that sort that stays open: for pages, which write nothing but who is signed in."""
    return _held.enter_context(a_hall(engine, sort))


@cache
def _built(engine: str, sort: Sort) -> str:
    """Build a hall and return its file, or the name of its database."""
    if engine == "sqlite":
        path = Path(_folder()) / f"hall{next(_names)}.sqlite"
        url = f"sqlite:///{path}"
    else:
        path, name = Path(), f"hall{next(_names)}"
        _ask_server(f"CREATE DATABASE {name}")
        url = _address(name)
    store = Store(url)
    engines.make_tables(store)
    with store.work() as db:
        write_catalogue(db, pairs=sort.pairs)
        write_founders(db, pairs=sort.pairs, histories=(sort.own,))
    store.close()
    _grow(url, sort)
    return str(path) if engine == "sqlite" else name


def _grow(url: str, sort: Sort) -> None:
    """Copy the founders, add what waits to be played, and leave the database as the upkeep of months leaves it."""
    raw = create_engine(url)
    if raw.dialect.name == "sqlite":
        event.listen(raw, "connect", _carelessly)
    with raw.begin() as connection:
        if raw.dialect.name == "postgresql":
            connection.execute(text("SET LOCAL session_replication_role = replica"))  # copies need no look whether what they name is there
        clone(connection, sort.learners // FOUNDERS)
        if raw.dialect.name == "postgresql":
            _count_on(connection)
    if raw.dialect.name == "postgresql":
        with raw.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("VACUUM ANALYZE"))
    raw.dispose()
    store = Store(url)
    with store.work() as db:
        write(db, ready_drills(pairs=sort.pairs, count=READY, places_from=sort.own // A_DRILL))
    store.fold_log()
    store.close()


def _carelessly(connection: object, _record: object) -> None:
    """Nothing need survive a crash while a hall is being made up."""
    for pragma in ("journal_mode=DELETE", "journal_mode=MEMORY", "synchronous=OFF", "cache_size=-300000"):
        connection.execute(f"PRAGMA {pragma}").fetchall()  # type: ignore[attr-defined]


def _count_on(connection: object) -> None:
    """Let PostgreSQL number new rows after those that brought their numbers along."""
    for table in Row.metadata.sorted_tables:
        if "id" in table.columns and table.columns["id"].type.python_type is int and table.autoincrement_column is not None:
            last = f'(SELECT COALESCE(MAX(id), 0) + 1 FROM "{table.name}")'
            connection.execute(text(f"SELECT setval(pg_get_serial_sequence('\"{table.name}\"', 'id'), {last}, false)"))  # type: ignore[attr-defined]


@cache
def _folder() -> str:
    return _held.enter_context(TemporaryDirectory(prefix="drillhall-grown-"))


@cache
def _server() -> engines.Server:
    server = _held.enter_context(engines.a_server())
    server.start(f"{engines.LASTING} -c shared_buffers=256MB -c max_wal_size=4GB")
    return server


def _address(name: str) -> str:
    return make_url(_server().dsn).set(database=name).render_as_string(hide_password=False)


def _ask_server(statement: str) -> None:
    asking = create_engine(_server().dsn, isolation_level="AUTOCOMMIT")
    with asking.connect() as connection:
        connection.execute(text(statement))
    asking.dispose()
