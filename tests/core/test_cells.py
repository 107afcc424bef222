"""No cell of a table is a formula, and what is none stays as it is."""

from __future__ import annotations

import pytest

from drillhall.core.cells import no_formula


@pytest.mark.parametrize("cell", ["=1", "+1", "-1", "@a", "\t=1", " =1", "\r=1", "\n=1", "  \t +1", "＝1", " ＠a"])
def test_no_cell_is_a_formula(cell: str) -> None:
    assert no_formula(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["", "Ada Mudd", "'=1", "1 = 1", "n-1", " an egret"])
def test_what_is_no_formula_stays_as_it_is(cell: str) -> None:
    assert no_formula(cell) == cell
