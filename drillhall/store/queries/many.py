"""Writes many rows by one statement that is made once; what is written are plain columns of a table, as they come back."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from typing import Any

from sqlalchemy import Insert, Table, Text, bindparam, cast, column, func, literal_column, select
from sqlalchemy.dialects import postgresql, sqlite
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
    if rows:
        given = list(rows) if dialect_of(db) == "sqlite" else {"rows": as_json(rows)}
        db.connection().execute(statement, given)


def as_json(rows: Told) -> str:
    """Return rows as one text: numbers to the last digit, times and days as ISO 8601 writes them."""
    return json.dumps(rows, default=str)
