"""Writes a database's files anew, so that no page of them holds what was in rows that are gone."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy.engine import Connection

from drillhall.errors import Unavailable
from drillhall.store.base import Row
from drillhall.store.disk import find_disk_fault
from drillhall.store.session import Store, translated

MOST_BYTES: Final = 2**28
"""The largest table, or file of SQLite, that is written anew while people wait: some seconds."""
LOCK_MS: Final = 2_000
"""How long a table is waited for, and whoever comes after with it."""
_CLEAR: Final = """
SELECT pg_clear_attribute_stats(schemaname, tablename, attname, inherited) FROM pg_stats WHERE schemaname = current_schema()
"""
"""PostgreSQL keeps samples of what stands in a column, and keeps them when the table is empty; from version 18 on they can be let go."""


@dataclass(frozen=True, slots=True)
class Rewritten:
    """Whether nothing was in use for too long, so that it need not be tried again, and the names of what was spared for its size."""

    is_done: bool
    spared: tuple[str, ...] = ()


def write_anew(store: Store, *, most: float = MOST_BYTES) -> Rewritten:
    """Write every table anew, but those larger than `most` bytes, and return what came of it.

    SQLite: `VACUUM` and an empty log (https://www.sqlite.org/lang_vacuum.html: it rebuilds the file, so that no deleted content is left).
    PostgreSQL: `VACUUM FULL` (https://www.postgresql.org/docs/current/sql-vacuum.html), since a plain one marks the place of a row as free
    and leaves its bytes there; of a larger table a plain one. The old files go with its next checkpoint, its log as it is set up.
    Raises Unavailable where the database is away.
    """
    if store.is_sqlite:
        spared = _write_file(store, most)
        return Rewritten(store.fold_log(), spared)
    with translated(), store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        return _write_tables(connection, most)


def _write_file(store: Store, most: float) -> tuple[str, ...]:
    connection = store.engine.raw_connection()
    try:
        cursor = connection.cursor()
        pages, size = (cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("page_count", "page_size"))
        if pages * size > most:
            return (Path(store.engine.url.database or "").name,)
        cursor.execute("VACUUM")
    except sqlite3.Error as error:
        raise (find_disk_fault(error) or Unavailable("The database is busy or away; please try again in a moment.")) from error
    finally:
        connection.close()
    return ()


def _write_tables(connection: Connection, most: float) -> Rewritten:
    quote = connection.dialect.identifier_preparer.format_table
    done, spared = True, []
    connection.exec_driver_sql(f"SET lock_timeout = {LOCK_MS}")
    try:
        if connection.dialect.server_version_info >= (18,):  # type: ignore[operator]  # it is known once one is connected
            connection.exec_driver_sql(_CLEAR)
        for table in map(quote, Row.metadata.sorted_tables):
            size = connection.exec_driver_sql(f"SELECT pg_total_relation_size('{table}')").scalar_one()
            spared += [table] if size > most else []
            done &= _vacuum(connection, f"(FULL, ANALYZE) {table}" if size <= most else f"(INDEX_CLEANUP ON, ANALYZE) {table}")
        return Rewritten(_vacuum(connection, "FULL pg_statistic") and done, tuple(spared))
    finally:
        connection.exec_driver_sql("RESET lock_timeout")


def _vacuum(connection: Connection, what: str) -> bool:
    try:
        with translated():
            connection.exec_driver_sql(f"VACUUM {what}")
    except Unavailable:  # somebody has it
        if connection.invalidated:
            raise
        return False
    return True
