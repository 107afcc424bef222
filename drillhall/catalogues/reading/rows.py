"""Turns pictures.csv into values, a row at a time, under whatever headers the open standards allow."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Final

from drillhall.catalogues.folder import PICTURES_FILE, PICTURES_FOLDER, Fault, FolderPicture
from drillhall.catalogues.places import line_of, row_of
from drillhall.core.licences import read_licence
from drillhall.core.regions import Region, check_region
from drillhall.core.rights import ASKED
from drillhall.core.terms import PICTURE_COLUMNS, full_term, orientation_label
from drillhall.core.values import Mark
from drillhall.errors import Invalid
from drillhall.words import joined, say

NEEDED: Final = ("file", "form")
TRUE: Final = frozenset({"", "yes", "true", "1"})
FALSE: Final = frozenset({"no", "false", "0"})
PLACES: Final = 4
"""Decimals of a mark's fractions; a ten-thousandth of the largest stored side is less than a pixel."""
_GUARDED: Final = re.compile(r"'+[=+\-@\t\r]")


def pictures_of(text: str, faults: list[Fault], *, needed: Sequence[str] = NEEDED, table: str = PICTURES_FILE) -> tuple[FolderPicture, ...]:
    """Return the pictures that a pictures.csv says; a row that cannot be read is noted and left out.

    `table` is what the file is called in a fault.
    """
    rows = _rows(text, table, faults)
    header = next(rows, None)
    if header is None:
        faults.append(Fault(table, say("It is empty."), say("Write the row of headers first.")))
        return ()
    if len(header[1]) == 1 and any(sign in header[1][0] for sign in ";\t"):
        faults.append(Fault(table, say("Its cells are not parted by commas."), say("Save it as CSV with commas.")))
        return ()
    columns = _columns(header[1], table, faults)
    for name in needed:
        if name not in columns.values():
            faults.append(
                Fault(table, say("It has no column {name}.", name=name), say("Add a column {name} and fill it in every row.", name=name))
            )
    found = []
    for line, cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(columns):
            wrong = say("It has {count} cells where the header has {all}.", count=len(cells), all=len(columns))
            faults.append(Fault(line_of(table, line), wrong, say("Put cells that hold a comma in quotes, and write every cell.")))
            continue
        found.append(_picture(table, line, dict(zip(columns, map(unguard, cells), strict=True)), columns, faults))
    return tuple(found)


def unguard(cell: str) -> str:
    """Return a cell without the one apostrophe that keeps a spreadsheet from taking it for a formula."""
    return cell[1:] if _GUARDED.match(cell) else cell


def _rows(text: str, table: str, faults: list[Fault]) -> Iterator[tuple[int, list[str]]]:
    """Yield (line in the file, cells) of each row."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            faults.append(
                Fault(line_of(table, line), say("It is not right CSV: {error}.", error=error), say("Mend the quotes of that row."))
            )
            return
        yield line, cells


def _columns(headers: Sequence[str], table: str, faults: list[Fault]) -> dict[str, str]:
    """Return header → what it says of a picture; empty for a column of others, which is kept as it is."""
    columns: dict[str, str] = {}
    terms: dict[str, str] = {}
    for header in (unguard(header.strip()) for header in headers):
        term = full_term(header)
        if not header or term in terms:
            wrong = say("It has the column {term} twice.", term=term) if header else say("It has a column without a header.")
            faults.append(Fault(table, wrong, say("Name each column once.")))
        terms.setdefault(term, header)
        columns[_free(header, columns)] = ""
    for name, accepted in PICTURE_COLUMNS.items():
        first = next((term for term in accepted if term in terms), None)
        if first is not None:
            columns[terms[first]] = name
    return columns


def _free(header: str, columns: Mapping[str, str]) -> str:
    return header if header not in columns else _free(f"{header} again", columns)


def _picture(table: str, line: int, cells: Mapping[str, str], columns: Mapping[str, str], faults: list[Fault]) -> FolderPicture:
    said = {columns[header]: cell.strip() for header, cell in cells.items() if columns[header]}
    extra = {header: cell for header, cell in cells.items() if not columns[header]}
    where = row_of(table, line, said.get("file", ""))
    licence = read_licence(said.get("licence", ""))
    return FolderPicture(
        file=said.get("file", "").removeprefix(PICTURES_FOLDER),
        form=said.get("form", ""),
        use=said.get("use", "") or "practice",
        creator=said.get("creator", ""),
        licence=(licence.url or licence.id) if licence else said.get("licence", ""),
        credit=said.get("credit", ""),
        rights_owner=said.get("rights_owner", ""),
        source=said.get("source", ""),
        title=said.get("title", ""),
        statement=said.get("statement", ""),
        medium=said.get("medium", "") or "Photograph",
        taken_on=_day(said.get("taken_on", ""), where, faults),
        orientation=orientation_label(said.get("orientation", "")) or said.get("orientation", ""),
        pose=said.get("pose", ""),
        distance=said.get("distance", "").casefold(),
        setting=said.get("setting", ""),
        typical=_typical(said.get("typical", ""), where, faults),
        alt=said.get("alt", ""),
        cluster=said.get("cluster", ""),
        marks=_marks(said.get("marks", ""), where, faults),
        frame=_frame(said.get("frame", ""), where, faults),
        agreed=_agreed(said.get("agreed", ""), where, faults),
        granted_by=said.get("granted_by", ""),
        granted_on=_day(said.get("granted_on", ""), where, faults, named="grantedOn: "),
        until=_day(said.get("until", ""), where, faults, named="until: "),
        evidence=said.get("evidence", ""),
        data_mining=said.get("data_mining", "").rpartition("/")[2],
        extra=extra,
        row=line,
    )


def _day(text: str, where: str, faults: list[Fault], *, named: str = "") -> date | None:
    """Return the day of a W3C date; the time of day is dropped, since it tells too much of a person's ways."""
    if not text:
        return None
    try:
        return date.fromisoformat(text) if len(text) <= 10 else datetime.fromisoformat(text).date()
    except ValueError:
        faults.append(
            Fault(where, joined("", (named, say("The date {text} is none.", text=text))), say("Write it as 2031-05-17, or leave it empty."))
        )
        return None


def _typical(text: str, where: str, faults: list[Fault]) -> bool:
    if text.casefold() not in TRUE | FALSE:
        faults.append(Fault(where, say("{name} says {said}.", name="typical", said=text), say("Write yes or no.")))
    return text.casefold() not in FALSE


def _marks(text: str, where: str, faults: list[Fault]) -> tuple[Mark, ...]:
    marks = []
    for piece in filter(None, (piece.strip() for piece in text.split(";"))):
        trait, *numbers = piece.split()
        try:
            x, y, width, height = map(float, numbers)
            if not (0 <= x <= 1 and 0 <= y <= 1 and 0 < width <= 1 and 0 < height <= 1 and x + width <= 1.0001 and y + height <= 1.0001):
                raise ValueError(piece)
        except ValueError:
            mend = say("Write trait, left edge, upper edge, width and height, as fractions from 0 to 1 of the upright picture.")
            faults.append(Fault(where, say("The mark “{piece}” does not lie within the picture.", piece=piece), mend))
            continue
        marks.append(Mark(trait, round(x, PLACES), round(y, PLACES), _within(x, width), _within(y, height)))
    return tuple(sorted(marks, key=lambda mark: mark.trait))


def _frame(text: str, where: str, faults: list[Fault]) -> Region | None:
    """Return the rectangle that a picture is cut to, or None where nothing is said of that."""
    if not text:
        return None
    try:
        x, y, width, height = map(float, text.split())
        frame = check_region(x, y, width, height)
    except (ValueError, Invalid):
        mend = say("Write left edge, upper edge, width and height, as fractions from 0 to 1 of the upright picture.")
        faults.append(Fault(where, say("The frame “{text}” does not lie within the picture.", text=text), mend))
        return None
    return frame


def _agreed(text: str, where: str, faults: list[Fault]) -> tuple[str, ...]:
    """Return what the owner of the rights has agreed to, in the order in which that is asked."""
    words = {piece.strip().casefold() for piece in text.split("|")} - {""}
    choices = tuple(purpose.value for purpose in ASKED)
    for word in sorted(words - set(choices)):
        faults.append(
            Fault(
                where,
                say("agreed: {word} is nothing that can be agreed to.", word=word),
                say("Choose from {choices}.", choices=" | ".join(choices)),
            )
        )
    return tuple(word for word in choices if word in words)


def _within(start: float, length: float) -> float:
    """Return a length in four decimals that does not reach over the edge and is not nothing."""
    step = 10**-PLACES
    return max(step, round(min(length, 1 - round(start, PLACES)), PLACES))
