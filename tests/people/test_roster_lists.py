"""Class lists as text: what is read, and every fault by row and field."""

from __future__ import annotations

import pytest

from drillhall.errors import BadRoster
from drillhall.people.roster_lists import MOST_PUPILS, read_list


def read(text: str | bytes) -> list[tuple[str, str]]:
    return [(one.name, one.code) for one in read_list(text if isinstance(text, bytes) else text.encode())]


def faults(text: str | bytes) -> tuple[str, ...]:
    with pytest.raises(BadRoster) as told:
        read(text)
    return told.value.faults or (told.value.sentence,)


@pytest.mark.parametrize(
    "text",
    [
        "Wenna T.,1\nÅse K.,2\n",
        "\ufeffWenna T.\t1\r\n\r\n  Åse K. \t 2",
        'name;code\n"Wenna T.";1\nÅse K.;2',
        "Code,Remark,Given_Name,Family name\n1,late,Wenna,Tresco\n2,,Åse,Kvist",
        "name,code\nWenna T.,1\t\nÅse K.,2\n",
        "Code,Remark,Name\n1,late; ill,Wenna T.\n2,,Åse K.",
        "Wenna T.\t1\nÅse K.\t2\t\n",
    ],
)
def test_two_columns_are_read_however_a_spreadsheet_parts_them(text: str) -> None:
    assert read(text) == [("Wenna T.", "1"), ("Åse K.", "2")]


def test_one_column_will_do() -> None:
    assert read("Wenna T.\nÅse K.") == [("Wenna T.", ""), ("Åse K.", "")]


def test_a_comma_within_names_parts_no_list_that_tabs_part() -> None:
    assert read("Tresco, Wenna\t1\nKvist, Åse\t2") == [("Tresco, Wenna", "1"), ("Kvist, Åse", "2")]


def test_a_badly_written_row_is_told_with_its_column_and_the_others_too() -> None:
    told = faults(b"Wenna T.,1\n" + "Åse K.,2\n".encode("latin-1") + b'"Pip,3\n,4\n')
    assert [one.partition(":")[0] for one in told] == ["Row 2, column 1", "Row 3", "Row 4, name"]
    assert "UTF-8" in told[0]
    assert "quotes" in told[1]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Åse\nPip\nÅSE", "Row 3, name: ÅSE stands in row 1 already"),
        ("Åse,1\nPip,1", "Row 2, code: 1 stands in row 1 already"),
        ("Åse,1\nPip", "Row 2, code: It is missing"),
        ("Åse,1,2", "Row 1: It has 3 columns"),
        ("ase@example.org", "Row 1, name: That looks like an address"),
        ("x" * 61, "Row 1, name: That name has 61 letters"),
        ("Ås\u202ee", "Row 1, name: That name holds a sign that cannot be seen"),
        ("Åse,\u200b", "Row 1, code: It must be at most 255 signs, all of them to be seen"),
        ("name,code\n", "There is nobody on the list"),
        ("\n".join(f"Pupil {number}" for number in range(MOST_PUPILS + 1)), "There are 401 people on the list"),
    ],
)
def test_a_fault_is_told_with_its_place(text: str, told: str) -> None:
    assert faults(text)[0].startswith(told)


def test_the_wrong_kind_of_file_is_told() -> None:
    assert "UTF-16" in faults("Åse".encode("utf-16"))[0]
    assert "larger than 1 MB" in faults(b"x" * 1_000_001)[0]


def test_of_many_faults_the_first_are_told_and_the_others_counted() -> None:
    told = faults("\n".join([",1"] * 300))
    assert len(told) == 201
    assert told[-1] == "And 100 more."
