"""Lays out which form was called what over a whole set of pairs: form shown against form answered."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from drillhall.core.confusion.proportions import wilson
from drillhall.core.confusion.seriation import seriate
from drillhall.core.values import NEITHER, Interval

FEW_SHOWN: Final = 20
"""Of fewer showings a cell tells its counts and is ranked nowhere; our own choice."""

FRAMED_FROM: Final = 0.10
"""Neighbours stand in one frame where one is called the other at least so often; our own choice."""

_LEAN: Final = 8.0


@dataclass(frozen=True, slots=True)
class AnswerSum:
    """How often one form was called another in one pair: `count` answers, `three` of them with *neither* among the choices."""

    pair_forms: tuple[int, int]
    shown_form_id: int
    said_form_id: int
    count: int
    three: int


@dataclass(frozen=True, slots=True)
class Cell:
    """How often a form was called another when it was shown and the other was a choice."""

    shown_form_id: int
    said_form_id: int
    called: int
    offered: int

    @property
    def is_few(self) -> bool:
        """Whether the showings are too few to rank."""
        return self.offered < FEW_SHOWN

    @property
    def rate(self) -> float:
        """The plain share, 0 where it was never a choice."""
        return self.called / self.offered if self.offered else 0.0

    @property
    def likely(self) -> Interval:
        """Where the true share is likely to lie: Wilson's interval."""
        return wilson(self.called, self.offered)

    @property
    def is_right(self) -> bool:
        """Whether it counts right answers."""
        return self.shown_form_id == self.said_form_id


@dataclass(frozen=True, slots=True)
class Matrix:
    """The whole set: forms in the order in which what is mixed up stands together, the cells that were ever a choice, the frames.

    frames: runs of `form_ids` that are mixed up with each other, as (first place, last place).
    """

    form_ids: tuple[int, ...]
    cells: Mapping[tuple[int, int], Cell]
    frames: tuple[tuple[int, int], ...]

    def at(self, shown_form_id: int, said_form_id: int) -> Cell | None:
        """Return a cell, or None where the second was never a choice when the first was shown."""
        return self.cells.get((shown_form_id, said_form_id))


def count_cells(sums: Iterable[AnswerSum]) -> dict[tuple[int, int], Cell]:
    """Count every cell of the matrix.

    A cell holds the showings of a form in which the other was a choice, so cells of one row rest on different showings and a row
    need not sum to one. *Neither* (form 0) was a choice in those alone that offered it; a third is shown without being a choice.

    Parameters
    ----------
    sums : counts by pair, form shown and form said, in any order; any number for the same.

    Returns
    -------
    dict of (shown, said) → Cell.

    >>> cells = count_cells([AnswerSum((1, 2), 1, 1, 6, 0), AnswerSum((1, 2), 1, 2, 4, 0), AnswerSum((1, 3), 1, 1, 10, 0)])
    >>> (cells[1, 2].called, cells[1, 2].offered), (cells[1, 1].called, cells[1, 1].offered)
    ((4, 10), (16, 20))
    """
    told: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0])
    for one in sums:
        choices = [(form_id, one.count) for form_id in one.pair_forms]
        if one.three:
            choices.append((NEITHER, one.three))
        for form_id, count in choices:
            cell = told[one.shown_form_id, form_id]
            cell[0] += count if form_id == one.said_form_id else 0
            cell[1] += count
    return {(shown, said): Cell(shown, said, *counts) for (shown, said), counts in told.items()}


def lay_out(cells: Mapping[tuple[int, int], Cell], *, most: int | None = None) -> Matrix:
    """Put the forms of a matrix in order, so that what is mixed up stands together.

    Parameters
    ----------
    cells : as `count_cells` returns them.
    most : keep so many forms at most, those that are mixed up most; None keeps all.

    Returns
    -------
    Matrix: with every cell of the forms that are kept, and of *neither*.

    >>> lay_out({}).form_ids
    ()
    """
    forms = sorted({shown for shown, _ in cells} | {said for _, said in cells} - {NEITHER})
    if most is not None and len(forms) > most:
        strongest = {form_id: max(_mixed(cells, form_id, other) for other in forms if other != form_id) for form_id in forms}
        forms = sorted(sorted(forms, key=lambda form_id: -strongest[form_id])[:most])
    order = seriate([[0.0 if a == b else 1.0 - _mixed(cells, a, b) for b in forms] for a in forms])
    ordered = tuple(forms[place] for place in order)
    kept = set(ordered)
    shown = {key: cell for key, cell in cells.items() if key[0] in kept and key[1] in kept | {NEITHER}}
    return Matrix(ordered, shown, _frames(cells, ordered))


def _mixed(cells: Mapping[tuple[int, int], Cell], one: int, other: int) -> float:
    """Return how much two forms are mixed up, 0 to 1: the mean of both directions, leaning on none where little was shown."""
    both = [cells.get((one, other)), cells.get((other, one))]
    return sum(cell.called / (cell.offered + _LEAN) for cell in both if cell is not None) / 2


def _frames(cells: Mapping[tuple[int, int], Cell], ordered: Sequence[int]) -> tuple[tuple[int, int], ...]:
    frames: list[list[int]] = []
    for place, (one, other) in enumerate(pairwise(ordered)):
        both = [cells.get((one, other)), cells.get((other, one))]
        if any(cell is not None and not cell.is_few and cell.rate >= FRAMED_FROM for cell in both):
            if frames and frames[-1][1] == place:
                frames[-1][1] = place + 1
            else:
                frames.append([place, place + 1])
    return tuple((first, last) for first, last in frames)
