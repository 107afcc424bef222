"""Reads a class list of two columns, name and code, pasted or from a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from drillhall.errors import BadRoster, Invalid
from drillhall.people.names import clean_name, fold_name
from drillhall.people.roster_rows import Entry, Faults, read_rows
from drillhall.words import say

MOST_BYTES: Final = 1_000_000
MOST_PUPILS: Final = 400
LONGEST_CODE: Final = 255
NOTHING_KEPT: Final = say("Nothing was kept. Mend what is listed, and give the list once more.")
KNOWN_COLUMNS: Final = ("name", "code", "given name", "family name")
"""What a first line may call its columns; others are not read."""


def read_list(raw: bytes) -> tuple[Entry, ...]:
    """Return who stands on a list, or raise BadRoster with every fault by row and field.

    Without a first line of column names the columns are name and code, or name alone. Of a family name the first letter is kept.
    """
    if len(raw) > MOST_BYTES:
        raise BadRoster(say("The list is larger than 1 MB. Give the list of one class."))
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadRoster(say("The list is written in UTF-16. Save it as CSV with the encoding UTF-8."))
    faults = Faults()
    rows = list(read_rows(raw, _separator(raw), faults))
    columns = _columns(rows[0][1]) if rows else {}
    if rows and columns:
        rows = rows[1:]
    entries = [entry for row, cells in rows if (entry := _entry(row, cells, columns, faults)) is not None]
    return checked(entries, faults)


def checked(entries: list[Entry], faults: Faults) -> tuple[Entry, ...]:
    """Return entries in which nobody stands twice, or raise BadRoster with these faults and those found before."""
    coded = any(one.code for one in entries)
    seen: dict[str, int] = {}
    for one in entries:
        said = one.code if coded else one.name
        key = one.code if coded else fold_name(one.name)
        field = "code" if coded else "name"
        if not key:
            faults.add(one.row, "code", say("It is missing, while others have one. Give each a code, or none."))
        elif key in seen:
            way = say("Take one of the two out.") if coded else say("Tell the two apart, or give each a code.")
            faults.add(one.row, field, say("{said} stands in row {row} already. {way}", said=said, row=seen[key], way=way))
        seen.setdefault(key, one.row)
    if not entries and not faults:
        raise BadRoster(say("There is nobody on the list. Give one line a pupil: a display name and, if you like, a code."))
    if len(entries) > MOST_PUPILS:
        raise BadRoster(
            say(
                "There are {len} people on the list; {most_pupils} is the most. Give the list of one class.",
                len=len(entries),
                most_pupils=MOST_PUPILS,
            )
        )
    if faults:
        raise BadRoster(NOTHING_KEPT, faults=faults.all())
    return tuple(entries)


def display_name(given: str, family: str) -> str:
    """Return a name to be shown: the given one, and the first letter of the other.

    >>> display_name("Wenna", "Tresco"), display_name("Wenna", "")
    ('Wenna T.', 'Wenna')
    """
    return f"{given} {family[:1]}." if given and family else given


def the_name(typed: str, row: int, field: str, faults: Faults, *, file: str = "") -> str | None:
    """Return a display name as it is kept, or None with its fault told."""
    if not typed:
        faults.add(row, field, say("It is missing. Write a display name."), file=file)
        return None
    if "@" in typed:
        faults.add(row, field, say("That looks like an address. Write a display name; no address is needed."), file=file)
        return None
    try:
        return clean_name(typed)
    except Invalid as error:
        faults.add(row, field, error.sentence, file=file)
        return None


def _separator(raw: bytes) -> str:
    """Return the tab, semicolon or comma that stands in more than half of the lines, else one that stands in any."""
    lines = [line for line in raw.splitlines() if line.strip()]
    told = {sign: sum(sign.encode() in line for line in lines) for sign in "\t;,"}
    return next((sign for least in (len(lines) / 2, 0) for sign, count in told.items() if count > least), ",")


def _columns(first: list[str]) -> dict[str, int]:
    """Return where the known columns stand, or nothing where the first line names none."""
    said = [" ".join(cell.casefold().replace("_", " ").split()) for cell in first]
    found: dict[str, int] = {name: said.index(name) for name in KNOWN_COLUMNS if name in said}
    return found if "name" in found or "given name" in found else {}


def _entry(row: int, cells: list[str], columns: Mapping[str, int], faults: Faults) -> Entry | None:
    if not columns and len(cells) > 2 and any(cells[2:]):
        wrong = say("It has {n} columns. Two are read: name and code. Or let the first line name the columns.", n=len(cells))
        faults.add(row, "", wrong)
        return None
    found = columns or {"name": 0, "code": 1}

    def cell(name: str) -> str:
        place = found.get(name)
        return cells[place] if place is not None and place < len(cells) else ""

    typed = cell("name") if "name" in found else display_name(cell("given name"), cell("family name"))
    name = the_name(typed, row, "name" if "name" in found else "given name", faults)
    code = cell("code")
    if len(code) > LONGEST_CODE or not code.isprintable():
        faults.add(row, "code", say("It must be at most {most} signs, all of them to be seen.", most=LONGEST_CODE))
        return None
    return None if name is None else Entry(name, code, row)
