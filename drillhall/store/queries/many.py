"""Writes many rows by one statement that is made once; what is written are plain columns of a table, as they come back."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from sqlalchemy import Insert, Table, Text, bindparam, cast, column, func, literal_column, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import Session

from drillhall.store.base import Row

Told = Sequence[dict[str, Any]]
"""Rows to be written: each names the same columns."""

_ROWS = bindparam("rows", type_=Text())


def dialect_of(db: Session) -> str:
    """Return the name of the engine that a session speaks to."""
    return db.get_bind().dialect.name


def table_of(model: type[Row]) -> Table:
    """Return the table of a model."""
    table = model.__table__
    assert isinstance(table, Table)
    return table


@cache
def inserting(model: type[Row], dialect: str) -> sqlite.Insert | postgresql.Insert:
    """Return the statement that adds rows to a table, every column of it told, to be sent by `send`.

    Sent one by one, each row costs PostgreSQL and its driver a beginning and an end, and each value being told apart; so it takes them
    as one text, JSON, which it reads by the types of the table's columns. SQLite has no way to it, and wants none.
    """
    table = table_of(model)
    if dialect == "sqlite":
        return sqlite.insert(table)
    names = [one.name for one in table.columns]
    told = func.json_populate_recordset(literal_column(f'NULL::"{table.name}"'), cast(_ROWS, postgresql.JSON)).table_valued(
        *map(column, names)
    )
    return postgresql.insert(table).from_select(names, select(*told.c))


def send(db: Session, statement: Insert, rows: Told) -> None:
    """Send a statement of `inserting`, or one made from it, with some rows; without any nothing is sent."""
    if rows and dialect_of(db) == "sqlite":
        told, columns = _sent(statement, db.get_bind().dialect)
        given = [tuple(row[name] if bind is None else bind(row[name]) for name, bind in columns) for row in rows]
        db.connection().exec_driver_sql(told, given)
    elif rows:
        db.connection().execute(statement, {"rows": as_json(rows)})


@cache
def _sent(statement: Insert, dialect: Dialect) -> tuple[str, list[tuple[str, Any]]]:
    """Return a statement of `inserting` as SQLite reads it, and by column, in order, what makes the driver's value of ours, or None.

    Made once for all rows that are ever sent: to look it up for each of them takes longer than to write them. The statement holds what else
    it is given: it must not ask for anything but the columns.
    """
    columns = [(one.name, one.type.dialect_impl(dialect).bind_processor(dialect)) for one in statement.table.columns]
    return str(statement.compile(dialect=dialect)), columns


def as_json(rows: Told) -> str:
    """Return rows as one text: numbers to the last digit, times, in UTC, and days as ISO 8601 writes them."""
    return json.dumps(rows, default=_as_text)


def _as_text(value: date) -> str:
    # A device may tell its time in a zone farther off than PostgreSQL reads one.
    return (value.astimezone(UTC) if isinstance(value, datetime) else value).isoformat()
