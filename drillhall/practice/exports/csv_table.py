"""CSV for spreadsheets (RFC 4180): one line a row beneath one line of column names, UTF-8 with its mark."""

from __future__ import annotations

import csv
from io import StringIO
from typing import Final

from drillhall.core.cells import no_formula
from drillhall.practice.tables import Cell, Table
from drillhall.words import say, speaking
from drillhall.words.said import all_told

NAME: Final = "csv"
TITLE: Final = say("CSV, for a spreadsheet")
MEDIA_TYPE: Final = "text/csv; charset=utf-8; header=present"


def write(table: Table) -> bytes:
    """Return a table as CSV; words in the language that is spoken, numbers stay numbers.

    Words that begin like a formula get an apostrophe before them.
    """
    text = StringIO()
    lines = csv.writer(text, lineterminator="\r\n")
    lines.writerow(column.key for column in table.columns)
    lines.writerows([_plain(cell) for cell in all_told(row, speaking())] for row in table.rows)
    return ("\ufeff" + text.getvalue()).encode()


def _plain(cell: Cell) -> str:
    if not isinstance(cell, str):
        return "" if cell is None else str(cell)
    return no_formula(cell)
