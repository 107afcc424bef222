"""Turns the matrix of a report into what a page shows: numbered rows, cells with their ink, frames."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drillhall.core.confusion import Cell, Matrix
from drillhall.core.values import NEITHER, Form
from drillhall.practice.weak_spots.report import MOST_SPOTS, WeakSpots

INKS: Final = ((28, "d4"), (16, "d3"), (8, "d2"), (1, "d1"))
"""From so many in 100 on, the strength of ink."""


@dataclass(frozen=True, slots=True)
class DrawnCell:
    """A cell: `text` is empty where the form was never a choice; `target` is the entry that it leads to, or empty."""

    text: str
    range_words: str
    classes: str
    target: str
    is_right: bool


@dataclass(frozen=True, slots=True)
class DrawnRow:
    """A row: the form shown, how often in all, and a cell for each form."""

    form: Form
    times: int
    cells: tuple[DrawnCell, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """The matrix of a page; `has_neither`: its last column is *neither*."""

    rows: tuple[DrawnRow, ...]
    has_neither: bool


def draw(told: WeakSpots) -> Drawn:
    """Return the matrix of a report."""
    matrix = told.matrix
    has_neither = any(said == NEITHER for _, said in matrix.cells)
    listed = {(spot.direction.form_id, spot.direction.other_id) for spot in told.spots[:MOST_SPOTS]}
    columns = (*matrix.form_ids, *((NEITHER,) if has_neither else ()))
    rows = []
    for place, shown in enumerate(matrix.form_ids):
        cells = tuple(_cell(matrix, place, column, said, listed) for column, said in enumerate(columns))
        right = matrix.at(shown, shown)
        rows.append(DrawnRow(told.forms[shown], right.offered if right else 0, cells))
    return Drawn(tuple(rows), has_neither)


def _cell(matrix: Matrix, row: int, column: int, said: int, listed: set[tuple[int, int]]) -> DrawnCell:
    shown = matrix.form_ids[row]
    cell, edges = matrix.at(shown, said), _edges(matrix, row, column)
    if cell is None or not cell.offered:
        return DrawnCell("", "", edges, "", False)
    likely = cell.likely
    words = f"{round(100 * likely.low)}\N{EN DASH}{round(100 * likely.high)}"
    target = f"s{shown}-{said}" if (shown, said) in listed else ""
    return DrawnCell(str(round(100 * cell.rate)), words, f"{_ink(cell)} {edges}".strip(), target, cell.is_right)


def _ink(cell: Cell) -> str:
    if cell.is_few:
        return "few"
    if cell.is_right:
        return "same"
    return next((ink for least, ink in INKS if round(100 * cell.rate) >= least), "")


def _edges(matrix: Matrix, row: int, column: int) -> str:
    """Return the sides of a cell at which a frame runs."""
    for first, last in matrix.frames:
        if first <= row <= last and first <= column <= last:
            sides = (("t", row == first), ("b", row == last), ("l", column == first), ("r", column == last))
            return " ".join(side for side, runs in sides if runs)
    return ""
