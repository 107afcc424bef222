"""Multiplies what a hall holds: of every thing so many more, each with a copy of all that hangs on it, whatever tables there are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from itertools import count
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Column, Index, Table, UniqueConstraint, insert, select
from sqlalchemy.orm import Session

from drillhall.store.base import Row

APART: Final = 100_000
"""How far copies lie from the rows that they are of, in whatever number tells them apart."""

NOT_MORE: Final[Mapping[str, str]] = {
    "answer": "a showing is asked once what it asks",
    "state": "how often a form has each state of a trait comes to one in all",
}
"""Tables of which there are no more where what they hang on is no copy, each with its reason."""

ONLY_WITH: Final[Mapping[str, str]] = {
    "description": "drill_id",
    "field_test_question": "field_test_id",
    "rarity_showing": "drill_id",
    "round": "drill_id",
    "showing": "round_id",
    "sitting_item": "sitting_id",
}
"""What was asked, copied along with what asked it alone: it says in words of its own which forms it asked for, which a copy keeps."""

CALLED: Final[Mapping[str, str]] = {"vernacular": "name"}
"""What copies are called by, which tells them apart for whoever reads as well."""

Values = dict[str, Any]
Moves = dict[tuple[str, str], dict[Any, Any]]
"""The value of a column of a table as it was, to what it is in a copy."""


def multiply(db: Session, copies: int) -> None:
    """Add to the rows of each table so many copies of each, with copies of all that names them; a keeper stays alone.

    A copy names what its row names, or the copy of that where one was made along with it: so a group gets more members by
    the copies of her account, she more groups by the copies of the group. What cannot be told apart is not copied.
    """
    held = {table: [dict(row) for row in db.execute(select(table)).mappings()] for table in Row.metadata.sorted_tables}
    fresh = count(1)
    for root in held:
        if root.name in NOT_MORE or any(key.parent.primary_key for key in root.foreign_keys):
            continue
        for _ in range(copies):
            _copy(db, root, held, next(fresh))


def _copy(db: Session, root: Table, held: Mapping[Table, list[Values]], number: int) -> None:
    moves: Moves = {}
    for table, rows in held.items():
        made = list(_copies(table, rows, moves, number, is_root=table is root))
        if made:
            db.execute(insert(table), made)


def _copies(table: Table, rows: Iterable[Values], moves: Moves, number: int, *, is_root: bool) -> Iterable[Values]:
    own = [column.name for column in table.primary_key if not column.foreign_keys]
    fit = [row for row in rows if (is_root and not row.get("is_keeper")) or _named(table, row, moves)]
    for row in fit:  # what a table's rows name in itself moves along, so all of them move first
        for name in own if len(table.primary_key) == 1 else ():
            moves.setdefault((table.name, name), {})[row[name]] = _apart(table.columns[name], row[name], number)
    for row in fit:
        named = _named(table, row, moves)
        copy = row | named | {name: moves[table.name, name][row[name]] for name in own if (table.name, name) in moves}
        if table.name in CALLED:
            copy[CALLED[table.name]] = _apart(table.columns[CALLED[table.name]], row[CALLED[table.name]], number)
        told = [_told_apart(copy, row, columns, number) for columns in _unique(table)]
        if all(told):
            yield copy
        else:
            for name in own:
                moves.get((table.name, name), {}).pop(row[name], None)


def _named(table: Table, row: Values, moves: Moves) -> Values:
    """Return what a copy of a row names instead, by column, where that was copied along with it."""
    keys = [(column.name, key.column) for column in table.columns for key in column.foreign_keys]
    leading = [(name, column) for name, column in keys if name == ONLY_WITH.get(table.name)]
    if any(row[name] not in moves.get((column.table.name, column.name), {}) for name, column in leading):
        return {}
    return {
        name: moves[column.table.name, column.name][row[name]]
        for name, column in keys
        if row[name] in moves.get((column.table.name, column.name), {})
    }


def _told_apart(copy: Values, row: Values, columns: list[Column[Any]], number: int) -> bool:
    """Change a copy so that it differs from its row in some of these columns; return whether that can be done."""
    if any(copy[column.name] != row[column.name] or row[column.name] is None for column in columns):
        return True
    free = [column for column in columns if not column.foreign_keys and not isinstance(row[column.name], bool)]
    if free:
        copy[free[-1].name] = _apart(free[-1], row[free[-1].name], number)
    return bool(free)


def _unique(table: Table) -> list[list[Column[Any]]]:
    """Return which columns together no two rows may share."""
    constraints = [list(one.columns) for one in table.constraints if isinstance(one, UniqueConstraint)]
    indexes = [list(one.columns) for one in table.indexes if isinstance(one, Index) and one.unique]
    return [list(table.primary_key), *constraints, *indexes]


def _apart(column: Column[Any], value: Any, number: int) -> Any:
    """Return another value for a column that must tell rows apart; each number gives another."""
    if isinstance(value, int):
        return value + number * APART
    if isinstance(value, datetime | date):
        return value - timedelta(days=7 * number)
    length = getattr(column.type, "length", None) or 255
    if length == len(str(UUID(int=0))):
        return f"{number:08x}{value[8:]}" if len(value) == length else f"{value}-{number}"[-length:]
    return ":".join(f"{part[: length // 2 - 8]}_{number}" for part in value.split(":"))
