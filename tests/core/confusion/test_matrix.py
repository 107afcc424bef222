"""The whole-set matrix: what counts in a cell, and how forms come to stand together."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.confusion import AnswerSum, count_cells, lay_out, seriate
from drillhall.core.values import NEITHER


def answers(pair: tuple[int, int], shown: int, said: int, count: int, *, three: int = 0) -> AnswerSum:
    return AnswerSum(pair, shown, said, count, three)


def test_a_cell_counts_the_showings_in_which_the_other_was_a_choice_and_no_other() -> None:
    cells = count_cells([answers((1, 2), 1, 1, 6), answers((1, 2), 1, 2, 4), answers((1, 3), 1, 3, 5), answers((1, 3), 1, 1, 5)])
    assert (cells[1, 2].called, cells[1, 2].offered) == (4, 10)
    assert (cells[1, 3].called, cells[1, 3].offered) == (5, 10)
    assert (cells[1, 1].called, cells[1, 1].offered) == (11, 20)
    # The row comes to 40 + 50 + 55 in 100: it is not made to sum to one.
    assert sum(cells[1, said].rate for said in (1, 2, 3)) == pytest.approx(1.45)


def test_neither_was_a_choice_where_it_was_offered_alone() -> None:
    cells = count_cells([answers((1, 2), 1, 1, 30, three=10), answers((1, 2), 1, NEITHER, 2, three=2)])
    assert (cells[1, NEITHER].called, cells[1, NEITHER].offered) == (2, 12)
    assert cells[1, 1].offered == 32


def test_a_third_is_shown_and_no_choice_itself() -> None:
    cells = count_cells([answers((1, 2), 3, 1, 4, three=4), answers((1, 2), 3, NEITHER, 6, three=6)])
    assert (3, 3) not in cells
    assert (cells[3, 1].called, cells[3, 1].offered, cells[3, 2].called) == (4, 10, 0)
    assert set(lay_out(cells).form_ids) == {1, 2, 3}


def test_what_is_mixed_up_stands_together_in_a_frame() -> None:
    """Forms 1 and 6, and 2 and 5, are mixed up; all pairs are asked equally often."""
    mixed = {(1, 6), (2, 5)}
    sums = []
    for pair in combinations(range(1, 7), 2):
        for shown, other in (pair, pair[::-1]):
            missed = 40 if pair in mixed else 1
            sums += [answers(pair, shown, shown, 100 - missed), answers(pair, shown, other, missed)]
    matrix = lay_out(count_cells(sums))
    framed = [set(matrix.form_ids[first : last + 1]) for first, last in matrix.frames]
    assert sorted(framed, key=min) == [{1, 6}, {2, 5}]


def test_few_showings_frame_nothing_and_are_told_as_few() -> None:
    cells = count_cells([answers((1, 2), 1, 2, 9), answers((1, 2), 1, 1, 1)])
    assert cells[1, 2].is_few
    assert lay_out(cells).frames == ()


def test_of_many_forms_those_mixed_up_most_are_kept() -> None:
    sums = []
    for number, pair in enumerate(((1, 2), (3, 4), (5, 6))):
        for shown, other in (pair, pair[::-1]):
            sums += [answers(pair, shown, shown, 60), answers(pair, shown, other, 20 * number)]
    assert set(lay_out(count_cells(sums), most=4).form_ids) == {3, 4, 5, 6}


def test_nothing_gives_an_empty_matrix() -> None:
    assert lay_out(count_cells([])) == lay_out({})
    assert seriate([]) == ()


@pytest.mark.parametrize("table", [[[0, 1]], [[1.0]], [[0, 1], [2, 0]], [[0, -1], [-1, 0]], [[0, float("nan")], [float("nan"), 0]]])
def test_what_is_no_table_of_distances_is_refused(table: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="distance"):
        seriate(table)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 1000), min_size=1, max_size=9, unique=True))
def test_things_on_a_line_are_put_in_line(places: list[int]) -> None:
    """With distances on a line, where every joint is of neighbours, the best order is the line itself."""
    table = [[float(abs(a - b)) for b in places] for a in places]
    order = seriate(table)
    assert sorted(order) == list(range(len(places)))
    assert sum(table[one][other] for one, other in pairwise(order)) == max(places) - min(places)
