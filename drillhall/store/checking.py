"""Looks whether a database is whole: its pages, its keys, its clock. Reads only."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sqlalchemy import func, select, text
from sqlalchemy.engine import Connection
from sqlalchemy.schema import ForeignKeyConstraint

from drillhall.store.dumping import read_tables
from drillhall.store.models.people import AuditRow, SignInRow
from drillhall.store.models.post import JobRow
from drillhall.store.session import Store


def damaged_pages(store: Store) -> tuple[str, ...]:
    """Return what the engine finds wrong with its own file, a line each.

    SQLite reads all of it (PRAGMA integrity_check); PostgreSQL is asked for the pages whose sum did not hold when they were read.
    """
    with store.snapshot() as connection:
        if store.is_sqlite:
            return tuple(line for line in connection.scalars(text("PRAGMA integrity_check(10)")) if line != "ok")
        failed = connection.scalar(text("SELECT checksum_failures FROM pg_stat_database WHERE datname = current_database()"))
        return (f"{failed} pages did not hold their sum",) if failed else ()


def loose_keys(store: Store) -> tuple[tuple[str, int], ...]:
    """Return each key of a table that points at rows that are not there, and from how many rows it does."""
    with store.snapshot() as connection:
        keys = [key for table in read_tables(connection) for key in table.foreign_key_constraints]
        found = ((_name(key), _count_loose(connection, key)) for key in sorted(keys, key=_name))
        return tuple((name, count) for name, count in found if count)


def _name(key: ForeignKeyConstraint) -> str:
    return f"{key.parent.name}.{'.'.join(key.column_keys)}"


def _count_loose(connection: Connection, key: ForeignKeyConstraint) -> int:
    there = key.referred_table.alias("there")
    here = key.parent.alias("here")
    pairs = [(here.c[element.parent.name], there.c[element.column.name]) for element in key.elements]
    meets = select(1).where(*(mine == other for mine, other in pairs)).select_from(there).correlate(here).exists()
    query = select(func.count()).select_from(here).where(*(mine.is_not(None) for mine, _ in pairs), ~meets)
    return connection.scalar(query) or 0


def newest_instant(store: Store) -> datetime | None:
    """Return the latest time that anything was written by the hall's clock, or None in a hall without a history."""
    with store.look() as db:
        columns = (AuditRow.at, SignInRow.seen_at, JobRow.ran_at)
        known = [db.scalar(select(func.max(column))) for column in columns]
    return max((at for at in known if at is not None), default=None)


def clock_apart(store: Store, *, at: datetime) -> timedelta:
    """Return by how much the database server's clock is ahead of `at`; nothing where the database is a file of this machine."""
    if store.is_sqlite:
        return timedelta()
    with store.look() as db:
        there: datetime = db.scalar(text("SELECT clock_timestamp()")) or at
    return there.astimezone(UTC) - at
