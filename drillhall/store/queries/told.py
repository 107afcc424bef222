"""What an export tells a person of the rows about her, and of what the numbers in them mean."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Select, Table, or_, select
from sqlalchemy.orm import Session

from drillhall.store.base import Row
from drillhall.store.queries.about import LOOKED_UP, by_table, is_about_her

A_BATCH: Final = 500
DATA: Final = "data"
WORDS: Final = "looked-up"
_BY_CONCEPT: Final = frozenset({"name", "vernacular"})


@dataclass(frozen=True, slots=True)
class TableRows:
    """One table of an export: the folder it lies in, its columns, and its rows, which are read anew each time and never held."""

    folder: str
    name: str
    columns: tuple[str, ...]
    db: Session
    query: Select[Any]

    def rows(self) -> Iterator[Sequence[Any]]:
        """Read the rows, some hundred at a time."""
        for row in self.db.execute(self.query.execution_options(yield_per=A_BATCH)):
            yield tuple(row)


def list_told(db: Session, account_id: int) -> list[TableRows]:
    """Return every table in which somebody is, and after them those that say what the numbers mean."""
    found = []
    for name, entries in by_table().items():
        table, but = entries[0].table, {column for one in entries for column in one.but}
        columns = [column for column in table.columns if column.name not in but]
        found.append(_rows(db, DATA, table, columns, select(*columns).where(is_about_her(name, account_id))))
    return [*found, *_words(db, account_id)]


def _words(db: Session, account_id: int) -> list[TableRows]:
    """Return what is looked up: of what her rows name, and of what that names in turn, nothing else."""
    found, chosen = [], {name: select(entries[0].table).where(is_about_her(name, account_id)) for name, entries in by_table().items()}
    for name, wanted in LOOKED_UP.items():
        table = Row.metadata.tables[name]
        named = [key for source, query in chosen.items() for key in _keys(Row.metadata.tables[source], query, table)]
        key = table.c.concept_id if name in _BY_CONCEPT else table.c.id
        named = _concepts(chosen) if name in _BY_CONCEPT else named
        query = select(table).where(or_(*(key.in_(one) for one in named)))
        if name not in chosen:  # what is hers anyhow keeps its own rows
            chosen[name] = query
        columns = [table.c[column] for column in wanted]
        found.append(_rows(db, WORDS, table, columns, query.with_only_columns(*columns)))
    return found


def _keys(source: Table, query: Select[Any], target: Table) -> Iterator[Select[Any]]:
    """Yield, for each column of a table that names a row of another, which rows the chosen ones name."""
    for column in source.columns:
        if any(key.column.table is target for key in column.foreign_keys):
            yield query.with_only_columns(column)


def _concepts(chosen: Mapping[str, Select[Any]]) -> list[Select[Any]]:
    concept = Row.metadata.tables["concept"]
    return [chosen["concept"].with_only_columns(concept.c.id)]


def _rows(db: Session, folder: str, table: Table, columns: Sequence[Any], query: Select[Any]) -> TableRows:
    return TableRows(folder, table.name, tuple(column.name for column in columns), db, query.order_by(*table.primary_key.columns))
