"""Watches the rows of a hall from outside, and sets them back, in the words of each engine."""

from __future__ import annotations

import marshal
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any, Final, Protocol

import psycopg

from drillhall.store.base import Row

UNWATCHED: Final = {
    "attempt": "counts tries, which a refusal is one of",
    "sign_in.seen_at": "that a device is in use, whatever it asks for",
}
"""Tables and columns that a refused request may change, and why."""
LOCK_SECONDS: Final = 60
"""What is set back waits so long for a request that left its work open."""


class Database(Protocol):
    """A hall's database: its address for the program, and what its watcher asks of it."""

    address: str

    def version(self) -> Any:
        """Return what is another one once anything was written."""

    def read(self) -> dict[str, Any]:
        """Return each table's rows, such that they are equal where the rows are, in whatever order these stand."""

    def set_back(self, let_go: Callable[[], None]) -> None:
        """Set the rows back to how they were built; the program lets go of the database first."""

    def close(self) -> None:
        """Let go of the database."""


class OnSqlite:
    """A file that is copied anew to be set back."""

    def __init__(self, built: Path, folder: Path) -> None:
        self._built, self._folder = built, folder
        self.address = f"sqlite:///{folder / built.name}"
        self._watcher: sqlite3.Connection | None = None
        self.set_back(lambda: None)

    def version(self) -> Any:
        return self._ask("PRAGMA data_version")

    def read(self) -> dict[str, Any]:
        return {name: self._ask(f'SELECT {columns} FROM "{name}"') for name, columns in _WATCHED.items()}

    def set_back(self, let_go: Callable[[], None]) -> None:
        let_go()
        self.close()
        for path in self._folder.glob(f"{self._built.name}*"):
            path.unlink()
        shutil.copy(self._built, self._folder)
        self._watcher = sqlite3.connect(self._folder / self._built.name, isolation_level=None)

    def close(self) -> None:
        if self._watcher is not None:
            self._watcher.close()
            self._watcher = None

    def _ask(self, words: str) -> bytes:
        """Return rows as bytes that tell values and their types apart, and are sorted."""
        assert self._watcher is not None
        rows = self._watcher.execute(words).fetchall()
        return marshal.dumps(rows if len(rows) < 2 else sorted(marshal.dumps(row, 2) for row in rows), 2)


class OnPostgresql:
    """A database made once of a template: to be set back, its tables are filled anew where they are other than there."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._watcher = psycopg.connect(address.replace("+psycopg", "", 1), autocommit=True)
        self._watcher.execute(f"SET lock_timeout = '{LOCK_SECONDS}s'")
        names = self._watcher.execute(
            "SELECT relname FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"
        ).fetchall()
        self._whole = _in_one({name: f'"{name}".*' for (name,) in names})
        self._rows, self._counted = self._ask(self._whole), self._counts()
        self._copies = {name: self._copied(name) for (name,) in names}

    def version(self) -> Any:
        return self._watcher.execute("SELECT pg_snapshot_xmax(pg_current_snapshot())::text", prepare=True).fetchone()

    def read(self) -> dict[str, Any]:
        return self._ask(_IN_ONE)

    def set_back(self, _let_go: Callable[[], None]) -> None:
        """Set rows and counters back; the program may stay, since nothing that it holds is dropped."""
        rows, counted = self._ask(self._whole), self._counts()
        other = [name for name in self._copies if rows.get(name) != self._rows.get(name)]
        with self._watcher.transaction(), self._watcher.cursor() as cursor:
            cursor.execute("SET LOCAL session_replication_role = replica")  # no foreign key is asked until all tables are filled
            for name in other:
                cursor.execute(f'DELETE FROM "{name}"')
                with cursor.copy(f'COPY "{name}" FROM STDIN (FORMAT binary)') as copy:
                    copy.write(self._copies[name])
            for name, value in self._counted - counted:
                cursor.execute("SELECT setval(%s::regclass, coalesce(%s, 1), %s)", (f'"{name}"', value, value is not None))
        if other and (self._ask(self._whole) != self._rows or self._counts() != self._counted):
            raise AssertionError(f"rows were not set back: {other}")

    def close(self) -> None:
        self._watcher.close()

    def _ask(self, words: str) -> dict[str, list[str]]:
        told = sorted(self._watcher.execute(words, prepare=True).fetchall())
        return {name: [row for _, row in rows] for name, rows in groupby(told, key=itemgetter(0))}

    def _counts(self) -> frozenset[tuple[str, int | None]]:
        return frozenset(self._watcher.execute("SELECT sequencename, last_value FROM pg_sequences", prepare=True).fetchall())

    def _copied(self, name: str) -> bytes:
        with self._watcher.cursor().copy(f'COPY "{name}" TO STDOUT (FORMAT binary)') as copy:
            return b"".join(map(bytes, copy))


def _in_one(columns: dict[str, str]) -> str:
    """Return one statement for all tables, which is quicker by far than one each: rows as PostgreSQL writes them, with their table."""
    return " UNION ALL ".join(f"SELECT '{name}', ROW({what})::text FROM \"{name}\"" for name, what in columns.items())


def _watched() -> Iterator[tuple[str, str]]:
    for table in Row.metadata.sorted_tables:
        if table.name not in UNWATCHED:
            yield table.name, ", ".join(f'"{column.name}"' for column in table.columns if f"{table.name}.{column.name}" not in UNWATCHED)


_WATCHED: Final = dict(_watched())
_IN_ONE: Final = _in_one(_WATCHED)
