"""The engine, its settings, and the one way to keep: `with store.work() as db:` commits once on leaving."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DatabaseError, DBAPIError, IntegrityError, OperationalError
from sqlalchemy.orm import Session, sessionmaker

from drillhall.errors import Overtaken, Unavailable
from drillhall.store.disk import find_disk_fault
from drillhall.words import say

LOG: Final = logging.getLogger("drillhall")
BUSY_MS = 10_000
"""How long a SQLite writer waits for another one before it gives up."""
PRAGMAS: Final = ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON", f"busy_timeout={BUSY_MS}")
"""What each connection to SQLite is told. Without secure_delete what was erased can still be read in the file until something else
takes its place; with it, of one row in a thousand what a page left behind when it was split, until `rewriting` has run."""


SECRET: Final = "secret of the hall"  # noqa: S105 - a name
"""Under which a session carries the hall's secret in its `info`, where the program was opened with one."""


class Store:
    """A hall's database, SQLite or PostgreSQL, behind two doors: `work()` writes and commits once, `look()` only reads."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.is_sqlite = url.startswith("sqlite")
        self._writer = _engine(url, begin="BEGIN IMMEDIATE")
        # Readers must not queue for the write lock, so on SQLite they begin without it.
        self._reader = _engine(url, begin="BEGIN") if self.is_sqlite else self._writer
        self._work = sessionmaker(self._writer, expire_on_commit=False)
        looking = self._reader if self.is_sqlite else self._reader.execution_options(postgresql_readonly=True)
        self._look = sessionmaker(looking, expire_on_commit=False)

    def carry(self, secret: str | None) -> None:
        """Have every session from now on carry the hall's secret; None: carry none, and ask the database."""
        for sessions in (self._work, self._look):
            sessions.configure(info={SECRET: secret})

    @property
    def engine(self) -> Engine:
        """The writing engine, for migrations and tests."""
        return self._writer

    @contextmanager
    def work(self) -> Iterator[Session]:
        """Yield a session that commits once on leaving and rolls back on any error.

        Raises Overtaken where a constraint of the database refuses, Unavailable where the database is busy or away.
        """
        with translated(), self._work() as db, db.begin():
            yield db

    @contextmanager
    def look(self) -> Iterator[Session]:
        """Yield a session for reading: PostgreSQL refuses whatever it would change, SQLite rolls it back when it closes."""
        with translated(), self._look() as db:
            yield db
            if not self.is_sqlite and db.in_transaction():
                # Nothing can have changed; and at a rollback the driver has PostgreSQL forget every statement that it prepared.
                db.expunge_all()
                db.commit()

    @contextmanager
    def snapshot(self) -> Iterator[Connection]:
        """Yield a connection that sees the database as it is at its first reading, whatever is written meanwhile."""
        how = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        with translated(), self._reader.connect().execution_options(**how) as connection, connection.begin():
            yield connection

    def fold_log(self) -> bool:
        """Write SQLite's log of changes into the database and empty it, so that nothing erased is left there; return whether that was
        done: if a reader is in the way, the next call does it. PostgreSQL sees to its own log."""
        if not self.is_sqlite:
            return True
        connection = self._reader.raw_connection()
        try:
            is_busy, _, _ = connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            return not is_busy
        finally:
            connection.close()

    def close(self) -> None:
        """Give all connections back."""
        self._writer.dispose()
        self._reader.dispose()


def if_not_kept(db: Session, undo: Callable[[], None]) -> None:
    """Call `undo` if the work of this session is rolled back, even where the commit itself fails; for what lies outside the database.

    Where a PostgreSQL went away while it was told to commit, nobody knows whether it did. Then `undo` is not called, lest what was kept
    loses what belongs to it: if it was not, something is left behind, which a sweep finds.
    """
    told: list[bool] = []
    if db.get_bind().dialect.name != "sqlite":
        event.listen(db.connection(), "commit", lambda _: told.append(True))
    event.listen(db, "after_rollback", lambda _: None if told else _outside(undo), once=True)


def once_kept(db: Session, do: Callable[[], None]) -> None:
    """Call `do` when the work of this session has been committed; for what lies outside the database."""
    event.listen(db, "after_commit", lambda _: _outside(do), once=True)


def _outside(do: Callable[[], None]) -> None:
    # The work is over either way, and whoever asked for it is told so: what stays behind, a sweep finds.
    try:
        do()
    except (Unavailable, OSError) as error:
        LOG.warning("left behind outside the database: %s", type(error).__name__)


@contextmanager
def translated() -> Iterator[None]:
    """Raise what a database says as what the hall says: Overtaken, Unavailable, or the fault of a disk."""
    try:
        yield
    except IntegrityError as error:
        raise Overtaken(say("Somebody else changed the same thing just now. Nothing was half-written; please try again.")) from error
    except (OperationalError, DBAPIError) as error:
        if fault := find_disk_fault(error):
            raise fault from error
        if isinstance(error, OperationalError) or error.connection_invalidated:
            raise Unavailable(say("The database is busy or away. Nothing was half-written; please try again in a moment.")) from error
        if type(error) is DatabaseError:  # what SQLite says of a file that is none of its own, or is damaged
            raise Unavailable(
                say("The database's file is damaged, or is no database. Restore a backup, or name another data folder.")
            ) from error
        raise


def _engine(url: str, *, begin: str) -> Engine:
    if not url.startswith("sqlite"):
        return create_engine(url, pool_pre_ping=True)
    engine = create_engine(url, connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False})

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # else the driver begins by itself, and too late
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine
