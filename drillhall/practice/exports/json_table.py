"""JSON for programs (RFC 8259): the table with its words, one object a row; what is not told is null."""

from __future__ import annotations

import json
from datetime import date
from typing import Final

from drillhall.practice.tables import Table
from drillhall.words import say, speaking
from drillhall.words.said import all_told

NAME: Final = "json"
TITLE: Final = say("JSON, for a program")
MEDIA_TYPE: Final = "application/json"


def write(table: Table) -> bytes:
    """Return a table as one JSON object; words are told in the language that is spoken, days as in RFC 3339."""
    keys = [column.key for column in table.columns]
    told = {
        "report": table.name,
        "title": table.title,
        "about": table.about,
        "made_on": table.made_on,
        "columns": [{"key": column.key, "label": column.label} for column in table.columns],
        "rows": [dict(zip(keys, row, strict=True)) for row in table.rows],
        "notes": list(table.notes),
    }
    return json.dumps(all_told(told, speaking()), ensure_ascii=False, indent=1, default=_day).encode() + b"\n"


def _day(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{value!r} is no cell")
