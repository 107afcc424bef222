"""Moves every reference to a row on to another row, writes down each, and puts them back as they were."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from sqlalchemy import Column, ColumnElement, String, Table, UniqueConstraint, cast, delete, exists, insert, literal, select, update
from sqlalchemy.orm import Session

from drillhall.store.base import Row
from drillhall.store.models.joins import ConceptJoinMoveRow

FOLDS: Final = frozenset({"memory", "tally", "tally_year", "prompt_tally", "beside_tally", "hall_rate"})
"""Counted from the log: they are counted again, not moved."""

PARTS: Final = frozenset({"pair"})
"""A pair is its two forms: another form makes another pair."""


def references_to(table: str) -> Iterator[Column[Any]]:
    """Yield every column of the hall that names a row of a table, folds and the sides of pairs left aside, in one order.

    They are read off the foreign keys, so that no table is forgotten.
    """
    for name in sorted(Row.metadata.tables):
        if name in FOLDS | PARTS:
            continue
        for column in Row.metadata.tables[name].columns:
            if any(key.column.table.name == table for key in column.foreign_keys):
                yield column


def move(db: Session, join_id: int, column: Column[Any], old: int, new: int) -> None:
    """Let every row that names `old` in a column name `new`, written down under a joining.

    Rows that may not stand beside one which names `new` already stay as they are: they were retired before, or say one of two.
    """
    table = column.table
    where = [column == old, *(~twin for twin in _twins(table, column, new))]
    moved = select(literal(join_id), literal(table.name), literal(column.name), _key(table, column), literal(old), literal(new))
    into = ["join_id", "table_name", "column_name", "row_key", "old", "new"]
    db.execute(insert(ConceptJoinMoveRow).from_select(into, moved.where(*where)))
    db.execute(update(table).where(*where).values({column.name: new}), execution_options={"synchronize_session": False})


def set_one(db: Session, join_id: int, column: Column[Any], row_id: int, new: int) -> None:
    """Let one row, which named nothing there, name `new`, written down under a joining."""
    table = column.table
    db.add(ConceptJoinMoveRow(join_id=join_id, table_name=table.name, column_name=column.name, row_key=str(row_id), old=None, new=new))
    db.execute(update(table).where(table.c.id == row_id).values({column.name: new}), execution_options={"synchronize_session": False})
    db.flush()


def put_back(db: Session, join_id: int) -> None:
    """Put back what a joining moved, the last first; what names something else by now is left as it is."""
    rows = ConceptJoinMoveRow
    steps = select(rows.table_name, rows.column_name, rows.old, rows.new).where(rows.join_id == join_id)
    for name, column_name, old, new in dict.fromkeys(
        (one, two, old, new) for one, two, old, new in db.execute(steps.order_by(rows.id.desc()))
    ):
        table = Row.metadata.tables[name]
        column = table.c[column_name]
        moved = select(rows.row_key).where(
            rows.join_id == join_id, rows.table_name == name, rows.column_name == column_name, rows.old.is_not_distinct_from(old)
        )
        where = (column == new, _key(table, column).in_(moved.where(rows.new == new)))
        db.execute(update(table).where(*where).values({column_name: old}), execution_options={"synchronize_session": False})
    db.execute(delete(rows).where(rows.join_id == join_id))
    db.flush()


def forget_gone(db: Session) -> None:
    """Forget what was moved of rows that are no more: another row may come to bear the number of one, and is none of it."""
    rows = ConceptJoinMoveRow
    moved = {(name, column) for name, column in db.execute(select(rows.table_name, rows.column_name).distinct())}
    for table in Row.metadata.tables.values():
        for column in (one for one in table.columns if (table.name, one.name) in moved):
            of_column = (rows.table_name == table.name, rows.column_name == column.name)
            db.execute(delete(rows).where(*of_column, rows.row_key.not_in(select(_key(table, column)))))


def _key(table: Table, column: Column[Any]) -> ColumnElement[str]:
    """Return what tells a row by itself, whatever the column says, as text."""
    parts: list[ColumnElement[str]] = [cast(one, String) for one in table.primary_key.columns if one.name != column.name]
    key = parts[0]
    for part in parts[1:]:
        key = key + literal("/") + part
    return key


def _twins(table: Table, column: Column[Any], new: int) -> Iterator[ColumnElement[bool]]:
    """Yield a condition for each rule of a table that forbids two rows to name the same, or one row to name it twice."""
    other = table.alias("other")
    keys = [table.primary_key, *(rule for rule in table.constraints if isinstance(rule, UniqueConstraint))]
    for key in keys:
        names = [one.name for one in key.columns]
        if column.name in names and len(names) > 1:
            same = [other.c[name] == table.c[name] for name in names if name != column.name]
            yield exists(select(literal(1)).select_from(other).where(other.c[column.name] == new, *same))
    beside = {"either_form_id": "or_form_id", "or_form_id": "either_form_id"}.get(column.name)
    if beside is not None:
        yield table.c[beside].is_not_distinct_from(new)
