"""Item analysis and reliability on a published table of ten by ten, and on invented ones by NumPy and statsmodels."""

from __future__ import annotations

from itertools import permutations, product
from random import Random

import numpy as np
import pytest

from drillhall.core.field_tests import analyse, questions_needed, reliability, upper_lower

# Ten students × ten questions: K. L. Wuensch, East Carolina University, KR20.txt, with its facilities and the variance 5.84 of totals.
TEN = [
    [sign == "1" for sign in row]
    for row in [
        "1111110110",
        "1011011101",
        "1111011001",
        "0010001000",
        "0000010010",
        "1110111111",
        "1101110111",
        "1111111101",
        "0101111101",
        "1101101110",
    ]
]
FACILITIES = [0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6]
# Computed from the same table with NumPy 2.4, corrcoef of each question and the sum of the others.
ITEM_REST = [0.7059, 0.7059, 0.0, 0.4736, 0.5839, 0.2861, -0.0274, 0.7059, -0.1236, 0.4759]


def test_facilities_and_variance_are_as_published() -> None:
    found = reliability(TEN)
    assert found is not None
    assert [item.facility for item in analyse(TEN)] == FACILITIES
    assert found.variance == pytest.approx(5.84)
    assert found.mean == pytest.approx(6.6)


def test_kr20_takes_the_population_variance() -> None:
    """10 / 9 × (1 − 2.18 / 5.84) = 0.696347; with the n − 1 variance of the totals it would wrongly be 0.737823."""
    found = reliability(TEN)
    assert found is not None
    assert found.kr20 == pytest.approx(0.696347, abs=5e-7)
    assert found.sem_questions == pytest.approx(1.331666, abs=5e-7)


def test_each_question_against_the_rest() -> None:
    assert [item.item_rest for item in analyse(TEN)] == [pytest.approx(value, abs=5e-5) for value in ITEM_REST]


def test_longer_tests() -> None:
    """Spearman and Brown: twice as long .820996, so just below and just above it 20 and 21; for .80, 17.44 questions, so 18."""
    assert questions_needed(0.696347, 10, 0.82099) == 20
    assert questions_needed(0.696347, 10, 0.8210) == 21
    assert questions_needed(0.696347, 10, 0.80) == 18


def test_ties_at_the_edge_are_averaged() -> None:
    """The upper and lower three among equals, in every order that they could have been sorted in: the mean of all of them."""
    totals = [sum(row) for row in TEN]
    levels = [[place for place, total in enumerate(totals) if total == level] for level in sorted(set(totals), reverse=True)]
    seen = []
    for order in product(*(list(permutations(level)) for level in levels)):
        ranked = [place for level in order for place in level]
        top, low = ranked[:3], ranked[-3:]
        seen.append([(sum(TEN[place][item] for place in top) - sum(TEN[place][item] for place in low)) / 3 for item in range(10)])
    assert upper_lower(TEN) == [pytest.approx(value) for value in np.mean(seen, axis=0)]
    # One of those orders is the one that keeps the list's: F, H, A on top, J, D, E below.
    assert [pytest.approx(value, abs=5e-5) for value in (0.6667, 0.6667, 0.6667, 0.3333, 0.6667, 0.6667, 0, 0.6667, 0, 0.6667)] in seen


@pytest.mark.parametrize("seed", range(5))
def test_an_invented_class_by_numpy(seed: int) -> None:
    dice = Random(seed)
    skill = [dice.gauss(0, 1) for _ in range(23)]
    table = [[dice.gauss(one, 1) > hard for hard in (-1, -0.5, 0, 0.5, 1, 1.5)] for one in skill]
    array = np.array(table, dtype=float)
    found = reliability(table)
    assert found is not None
    # Cronbach's alpha is KR-20 where questions are right or not.
    covered = np.cov(array, rowvar=False, ddof=0)
    assert found.kr20 == pytest.approx(6 / 5 * (1 - np.trace(covered) / covered.sum()))
    for number, item in enumerate(analyse(table)):
        rest = array.sum(axis=1) - array[:, number]
        assert item.item_rest == pytest.approx(np.corrcoef(array[:, number], rest)[0, 1])
