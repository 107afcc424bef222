"""Fills every table for a person: one row in each at least, every text of which tells her name, in whatever tables there are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from typing import Any, Final

from sqlalchemy import JSON, Boolean, Column, Date, Float, Integer, String, Table, insert, select
from sqlalchemy.orm import Session

from drillhall.store.base import Row, UtcTime

AT: Final = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)
LATER: Final = datetime(2041, 3, 3, 8, 0, tzinfo=UTC)

# What a constraint of the database asks of a column.
FIXED: Final[Mapping[str, Mapping[str, Any]]] = {
    "account": {"target_recall": 0.9, "minutes_a_day": 10, "new_a_day": 5, "round_length": 3, "retired_at": None, "zone": "UTC"},
    "assignment": {"target_recall": 0.9, "retired_at": None},
    "catalogue_form": {"length_mm": 100},
    "description": {"sure": "certain"},
    "field_test": {"opens_at": AT, "until": LATER},
    "field_test_extra": {"percent": 25},
    "field_test_pair": {"one_in": 9},
    "form_measure": {"mean": 38.5, "spread": 2.0, "n": 40},
    "form_trait": {"shown": None, "of": None},
    "group": {"kind": "class", "retired_at": None},
    "mark": {"x": 0.1, "y": 0.1, "width": 0.5, "height": 0.5},
    "membership": {"role": "member", "until": None},
    "outing": {"pair_set_id": None},
    "picture": {
        "either_form_id": None,
        "or_form_id": None,
        "use": "practice",
        "retired_at": None,
        "frame_x": 0.1,
        "frame_y": 0.1,
        "frame_width": 0.5,
        "frame_height": 0.5,
    },
    "rarity_drill": {"one_in": 9},
    "picture_offer": {"decision": "accepted"},
    "season_entry": {"kind": "lesson", "first_day": AT.date(), "last_day": LATER.date()},
    "sitting": {"number": 1},
}


SECOND: Final = frozenset({"second_form_id", "second_picture_id", "object_id"})
"""Columns that name another row than the column before them does."""

NAMED: Final = {"public_id": "00000000-0000-4000-8000-{:012d}", "storage_key": "aa/{}.webp", "address": "{word}@mail.example"}


class Filler:
    """Fills a database with rows of one person after another; `rows` are the last row of each table, by column."""

    def __init__(self, db: Session) -> None:
        self.db = db
        self.rows: dict[str, dict[str, Any]] = {}
        self._number = 1000

    def fill(self, word_in: Callable[[str], str], **account: Any) -> int:
        """Write one row into every table for which `word_in` gives a word, which each text of it tells; return the account's id."""
        for table in Row.metadata.sorted_tables:
            if word := word_in(table.name):
                self.add(table, word, **(account if table.name == "account" else {}))
        return int(self.rows["account"]["id"])

    def add(self, table: Table, word: str, **given: Any) -> dict[str, Any]:
        """Write one row into a table that names the last row of every other, and return it."""
        self._number += 1
        row = {column.name: self._value(table, column, word) for column in table.columns} | given
        self.db.execute(insert(table).values(row))
        self.rows[table.name] = row
        return row

    def _value(self, table: Table, column: Column[Any], word: str) -> Any:
        fixed = FIXED.get(table.name, {})
        if column.name in fixed:
            return fixed[column.name]
        for key in column.foreign_keys:
            if key.column.table is table:
                return None
            return self._named(column, key.column, word)
        return self._plain(column, word)

    def _named(self, column: Column[Any], key: Column[Any], word: str) -> Any:
        if column.name in SECOND:
            before = self.rows[key.table.name]
            another = self.add(key.table, word)
            self.rows[key.table.name] = before
            return another[key.name]
        return self.rows[key.table.name][key.name]

    def _plain(self, column: Column[Any], word: str) -> Any:
        if column.name in NAMED:
            return NAMED[column.name].format(self._number, word=word)
        if isinstance(column.type, String):
            told = f"{word} {self._number}"
            return told[: column.type.length] if column.type.length is None or len(told) <= column.type.length else self._short(column)
        if isinstance(column.type, UtcTime):
            return AT
        if column.name == "entries":
            return [[word, ""]]
        values = ((JSON, [word]), (Boolean, True), (Float, 0.5), (Date, date(2031, 3, 3)), (Integer, self._number))
        return next((value for kind, value in values if isinstance(column.type, kind)), self._number)

    def _short(self, column: Column[Any]) -> str:
        return str(self._number)[-(column.type.length or 9) :]  # type: ignore[attr-defined]


def every_value(db: Session) -> list[tuple[str, str, str]]:
    """Return every value of every column of every table, as (table, column, text)."""
    return [
        (table.name, column.name, repr(value))
        for table in Row.metadata.sorted_tables
        for row in db.execute(select(table)).all()
        for column, value in zip(table.columns, row, strict=True)
    ]
