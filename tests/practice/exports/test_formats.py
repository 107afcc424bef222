"""Every format: what is written reads back, by a reader of others; and nothing in it can be run by a spreadsheet."""

from __future__ import annotations

import csv
import json
from datetime import date
from io import StringIO

import pytest

from drillhall.errors import NotFound
from drillhall.practice.exports import FORMATS, csv_table, json_table, the_format
from drillhall.practice.tables import Column, Table

COLUMNS = (Column("who", "Who"), Column("times", "Times"), Column("day", "For"))
DAY = date(2031, 3, 9)


def table(*rows: tuple[str | int | date | None, ...]) -> Table:
    return Table("walk", "A walk", "Who walked.", COLUMNS, rows, DAY, ("Mind the mud.",))


def read_csv(content: bytes) -> list[list[str]]:
    return list(csv.reader(StringIO(content.decode("utf-8-sig"), newline="")))


def test_csv_reads_back_as_rfc_4180_has_it() -> None:
    content = csv_table.write(table(('Oda "the\r\nheron", Q.', 3, DAY), ("Åse", None, None)))
    assert content.startswith(b"\xef\xbb\xbfwho,times,day\r\n")
    assert content.endswith(b"\r\n")
    assert read_csv(content) == [["who", "times", "day"], ['Oda "the\r\nheron", Q.', "3", "2031-03-09"], ["Åse", "", ""]]


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t", "\r", "\n", "  =", "＝"])
def test_what_a_spreadsheet_would_run_is_text(begins: str) -> None:
    # Source: the signs that OWASP's page on CSV injection names; from memory.
    said = read_csv(csv_table.write(table((f'{begins}HYPERLINK("x")', -3, None))))[1]
    assert said[0] == f'\'{begins}HYPERLINK("x")'
    assert said[1] == "-3", "a number is no formula"


def test_json_keeps_types_names_and_what_is_not_told() -> None:
    told = json.loads(json_table.write(table(("=Åse", 3, DAY), ("Bo", None, None))))
    assert told["rows"] == [{"who": "=Åse", "times": 3, "day": "2031-03-09"}, {"who": "Bo", "times": None, "day": None}]
    assert (told["report"], told["made_on"], told["notes"]) == ("walk", "2031-03-09", ["Mind the mud."])
    assert [column["key"] for column in told["columns"]] == ["who", "times", "day"]


@pytest.mark.parametrize("one", FORMATS, ids=lambda one: one.NAME)
def test_a_table_without_rows_is_written_too(one: object) -> None:
    assert the_format(one.NAME).write(table())  # type: ignore[attr-defined]


def test_an_unknown_format_is_refused() -> None:
    with pytest.raises(NotFound, match="no such format"):
        the_format("xls")
