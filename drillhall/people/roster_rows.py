"""Rows of text files as lists of classes have them: decoded and parted line by line, every fault told by row and field."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from drillhall.words import joined, say

MOST_SHOWN: Final = 200
"""Faults that are told; whoever has more has the wrong file."""
_LOST: Final = "\ufffd"
_NOT_UTF_8: Final = say("It is not written in UTF-8. Save the file with the encoding UTF-8.")


@dataclass(frozen=True, slots=True)
class Entry:
    """Somebody on a list: her display name, the school's own code for her (may be empty), and the row she stands in, from 1."""

    name: str
    code: str
    row: int


class Faults:
    """Gathers what is wrong, each as one sentence that begins with its place; `file` is empty where there is one file alone."""

    def __init__(self) -> None:
        self._told: list[str] = []
        self._more = 0

    def __bool__(self) -> bool:
        return bool(self._told)

    def add(self, row: int, field: str, wrong: str, *, file: str = "") -> None:
        """Note a fault of a field of a row."""
        place = say("{file}, row {row}", file=file, row=row) if file else say("Row {row}", row=row)
        self.say(joined(": ", (joined(", ", (place, field)) if field else place, wrong)))

    def say(self, sentence: str) -> None:
        """Note a fault of the whole."""
        if len(self._told) < MOST_SHOWN:
            self._told.append(sentence)
        else:
            self._more += 1

    def all(self) -> tuple[str, ...]:
        """Return every fault, in the order in which they were found."""
        return (*self._told, *((say("And {more} more.", more=self._more),) if self._more else ()))


def read_rows(raw: bytes, separator: str, faults: Faults, *, file: str = "") -> Iterator[tuple[int, list[str]]]:
    """Yield the number of each line that is not empty, from 1, and its cells (RFC 4180, without a line break in a field).

    A line that is not UTF-8, or whose quotes do not close, is told among the faults and left out; a byte order mark is let go.
    """
    for number, line in enumerate(raw.removeprefix(b"\xef\xbb\xbf").splitlines(), start=1):
        try:
            text = line.decode()
        except UnicodeDecodeError:
            text = line.decode(errors="replace")
        cells = _cells(text, separator)
        if cells is None:
            faults.add(number, "", say("Its quotes do not close. A field may hold no line break."), file=file)
        elif lost := [place for place, cell in enumerate(cells, start=1) if _LOST in cell or "\x00" in cell]:
            for place in lost:
                faults.add(number, say("column {n}", n=place), _NOT_UTF_8, file=file)
        elif any(cells):
            yield number, cells


def _cells(line: str, separator: str) -> list[str] | None:
    try:
        rows = list(csv.reader([line], delimiter=separator, strict=True))
    except csv.Error:
        return None
    return [cell.strip() for cell in rows[0]] if rows else []
