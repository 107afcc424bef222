"""Writes the rows of any table as lines that either engine can take back, and takes them back.

A table is one JSON array a line (RFC 8259, UTF-8): first the names of its columns, then its rows in the order of their key. An instant
is RFC 3339 in UTC, a day YYYY-MM-DD; a number is written so that it is read back to the last bit. Columns are read from the database
itself, so that a hall of an older schema is written as well.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from itertools import islice
from typing import IO, Any, Final

from sqlalchemy import BigInteger, Boolean, Column, Date, DateTime, Float, Integer, MetaData, String, Table, func, select, text, update
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DataError, IntegrityError
from sqlalchemy.types import JSON

from drillhall.errors import Invalid

SCHEMA_TABLE: Final = "alembic_version"
AT_ONCE: Final = 1000
"""How many rows are held in memory."""


def read_tables(connection: Connection) -> tuple[Table, ...]:
    """Return the tables that the database has, each after those that its keys point at."""
    known = MetaData()
    known.reflect(connection)
    return tuple(table for table in known.sorted_tables if table.name != SCHEMA_TABLE)


def dump(connection: Connection, table: Table, out: IO[bytes]) -> int:
    """Write a table and return how many rows it has."""
    _write(out, [column.name for column in table.columns])
    rows = connection.execution_options(yield_per=AT_ONCE).execute(select(table).order_by(*table.primary_key.columns))
    count = 0
    for row in rows:
        _write(out, [_plain(value) for value in row])
        count += 1
    return count


def load(connection: Connection, table: Table, lines: Iterable[bytes]) -> int:
    """Take a table's rows back and return how many there were; the table is empty and what its keys point at is there already.

    Raises Invalid where a line is none of this table, or where the database refuses its rows.
    """
    rows = iter(lines)
    names = _read(table, next(rows, b"null"))
    if not isinstance(names, list) or set(map(str, names)) != set(table.columns.keys()):
        raise Invalid(f"The rows of {table.name} do not have the columns that they should have.", field="file")
    readers = [(name, _reader_of(table.columns[name])) for name in names]
    # A key that points into the table itself may point forward: it is written once all rows are there.
    inward = [key.parent.name for key in table.foreign_keys if key.column.table is table]
    count, pointing = 0, []
    while batch := [_row(table, line, readers) for line in islice(rows, AT_ONCE)]:
        for row in batch if inward else ():
            later = {name: row[name] for name in inward if row[name] is not None}
            pointing += [({column.name: row[column.name] for column in table.primary_key}, later)] if later else []
            row.update(dict.fromkeys(inward))
        _insert(connection, table, batch, count)
        count += len(batch)
    with _refusals(f"within {table.name}"):
        for key, later in pointing:
            connection.execute(update(table).where(*(table.columns[name] == value for name, value in key.items())).values(later))
    _go_on_counting(connection, table, count)
    return count


def _insert(connection: Connection, table: Table, batch: Sequence[dict[str, Any]], before: int) -> None:
    with _refusals(f"among rows {before + 1} to {before + len(batch)} of {table.name}"):
        connection.execute(table.insert(), batch)


@contextmanager
def _refusals(where: str) -> Iterator[None]:
    try:
        yield
    except (IntegrityError, DataError) as error:
        raise Invalid(f"The database cannot take what it is given {where}: it breaks one of its rules.", field="file") from error


def _go_on_counting(connection: Connection, table: Table, count: int) -> None:
    """Let PostgreSQL number the next row after the highest that was taken; SQLite does by itself."""
    keys = list(table.primary_key.columns)
    if connection.dialect.name != "postgresql" or not count or len(keys) != 1 or not isinstance(keys[0].type, Integer):
        return
    quoted = connection.dialect.identifier_preparer.format_table(table)
    highest = connection.scalar(select(func.max(keys[0])))
    connection.execute(
        text("SELECT setval(pg_get_serial_sequence(:name, :key), :highest)"), {"name": quoted, "key": keys[0].name, "highest": highest}
    )


def _write(out: IO[bytes], values: list[Any]) -> None:
    out.write(json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() + b"\n")


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        # SQLite hands an instant over without its zone, which is UTC (base.UtcTime).
        return (value if value.tzinfo else value.replace(tzinfo=UTC)).astimezone(UTC).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def _read(table: Table, line: bytes) -> Any:
    try:
        return json.loads(line)
    except (ValueError, RecursionError):
        raise Invalid(f"A row of {table.name} cannot be read.", field="file") from None


def _row(table: Table, line: bytes, readers: Sequence[tuple[str, Callable[[Any], Any]]]) -> dict[str, Any]:
    values = _read(table, line)
    try:
        return {name: read(value) for (name, read), value in zip(readers, values, strict=True)}
    except (TypeError, ValueError):
        raise Invalid(f"A row of {table.name} does not hold what its columns hold.", field="file") from None


def _instant(value: str) -> datetime:
    read = datetime.fromisoformat(value)
    if read.tzinfo is None:
        raise ValueError("an instant must say its zone")
    return read.astimezone(UTC)


def _exactly(*kinds: type) -> Callable[[Any], Any]:
    def check(value: Any) -> Any:
        if type(value) not in kinds:
            raise TypeError
        return value

    return check


_READERS: Final[tuple[tuple[Any, Callable[[Any], Any]], ...]] = (
    (DateTime, _instant),
    (Date, date.fromisoformat),
    (Boolean, _exactly(bool)),
    ((Integer, BigInteger), _exactly(int)),
    (Float, _exactly(int, float)),
    (String, _exactly(str)),
)


def _reader_of(column: Column[Any]) -> Callable[[Any], Any]:
    if isinstance(column.type, JSON):
        return lambda value: value
    read = next(read for kind, read in _READERS if isinstance(column.type, kind))
    return lambda value: None if value is None else read(value)


def count_rows(connection: Connection, tables: Iterable[Table]) -> Iterator[tuple[str, int]]:
    """Yield each table's name and how many rows it has."""
    for table in tables:
        yield table.name, connection.scalar(select(func.count()).select_from(table)) or 0
