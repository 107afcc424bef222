"""Halls as an older program left them, with rows in every table that its schema had; and whether they are there still."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any, Final

from alembic import command
from sqlalchemy import JSON, Boolean, Column, Date, DateTime, Float, Integer, MetaData, String, Table, select
from sqlalchemy.engine import Connection

from drillhall.store.migrating import configured
from drillhall.store.session import Store
from tests.filled import FIXED, NAMED, SECOND

AT: Final = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)
TWICE: Final = frozenset({"concept", "form", "picture"})
"""Tables with a second row, to which columns of `SECOND` point."""
BOOKKEEPING: Final = "alembic_version"

Rows = Mapping[str, Sequence[Mapping[str, Any]]]


def make_older_hall(store: Store, schema: str) -> Rows:
    """Bring a database without a table to a released schema, write into each of its tables, and return the rows by table."""
    command.upgrade(configured(store), schema)
    known = MetaData()
    known.reflect(store.engine)
    tables = [table for table in known.sorted_tables if table.name != BOOKKEEPING]
    rows = {
        table.name: [
            {column.name: _value(table, column, number) for column in table.columns} for number in ((1, 2) if table.name in TWICE else (1,))
        ]
        for table in tables
    }
    with store.engine.begin() as connection:
        for table in tables:
            connection.execute(table.insert().values(rows[table.name]))
    return rows


def what_is_lost(connection: Connection, rows: Rows) -> list[str]:
    """Return what of those rows is not there any more, in tables and columns that a later schema still has."""
    known = MetaData()
    known.reflect(connection)
    lost = []
    for name, before in rows.items():
        table = known.tables.get(name)
        if table is None:
            lost.append(f"the table {name} is gone")
            continue
        columns = [column for column in before[0] if column in table.columns]
        now = [_plain(dict(found)) for found in connection.execute(select(*(table.c[column] for column in columns))).mappings()]
        lost += [
            f"{name}: {dict(row)} is not among {now}" for row in before if _plain({column: row[column] for column in columns}) not in now
        ]
    return lost


def _plain(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a row as both engines agree on it: SQLite hands times over without their zone."""
    times = {name: value.replace(tzinfo=UTC) for name, value in row.items() if isinstance(value, datetime) and value.tzinfo is None}
    return dict(row) | times


def _value(table: Table, column: Column[Any], number: int) -> Any:
    if column.name in FIXED.get(table.name, {}):
        return FIXED[table.name][column.name]
    if column.foreign_keys:
        (key, *_) = column.foreign_keys
        there = key.column.table
        return None if there is table else _value(there, key.column, _number_there(column, there, number))
    if column.name in NAMED:
        return NAMED[column.name].format(number, word="word")
    if isinstance(column.type, String):
        return f"word {number}"[: column.type.length]
    values = ((JSON, ["word"]), (Boolean, True), (Float, 0.5), (DateTime, AT), (Date, date(2031, 3, 3)), (Integer, number))
    return next((value for kind, value in values if isinstance(column.type, kind)), number)


def _number_there(column: Column[Any], there: Table, number: int) -> int:
    if there.name not in TWICE:
        return 1
    return 2 if column.name in SECOND else number
