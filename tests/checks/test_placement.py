"""The trial of somebody who says she knows a pair, against chances computed beforehand and against Wald's own bound.

Printed values: worked out before this code was written, with numpy 2.4, for p0 = 1/k, p1 = .95, alpha = beta = .05, stopped at ten
pictures. The test reaches them another way, by weighing all 2^10 series of answers. Wald (1945), Ann Math Stat 16:117, from memory.
"""

from __future__ import annotations

from itertools import product
from math import log

import pytest

from drillhall.core.placement import Placing, place, weight_of_answer

# True right rate, choices → chance to pass, to be out by the bound, undecided at ten, mean pictures.
PRINTED = [
    (0.5, 2, 0.0361, 0.9121, 0.0518, 4.361),
    (0.70, 2, 0.2286, 0.5676, 0.2038, 6.253),
    (0.90, 2, 0.7842, 0.0795, 0.1363, 6.640),
    (0.95, 2, 0.9313, 0.0185, 0.0502, 6.028),
    (0.98, 2, 0.9873, 0.0027, 0.0100, 5.464),
    (1 / 3, 3, 0.0404, 0.9560, 0.0037, 3.009),
    (0.95, 3, 0.9826, 0.0151, 0.0024, 3.571),
]


def walk(rate: float, choices: int) -> tuple[float, float, float, float]:
    """Weigh each of the 1,024 ways to answer ten pictures by its chance."""
    passed = out = undecided = pictures = 0.0
    for answers in product((True, False), repeat=10):
        chance = 1.0
        for right in answers:
            chance *= rate if right else 1 - rate
        ended = next((n for n in range(1, 11) if place(answers[:n], choices=choices, most_pictures=99) is not Placing.GOING_ON), None)
        pictures += chance * (ended or 10)
        if ended is None:
            undecided += chance
        elif place(answers[:ended], choices=choices) is Placing.PASSED:
            passed += chance
        else:
            out += chance
    return passed, out, undecided, pictures


@pytest.mark.parametrize(("rate", "choices", "passed", "out", "undecided", "pictures"), PRINTED)
def test_printed_chances(rate: float, choices: int, passed: float, out: float, undecided: float, pictures: float) -> None:
    found = walk(rate, choices)
    assert found[:3] == pytest.approx((passed, out, undecided), abs=6e-5)
    assert found[3] == pytest.approx(pictures, abs=6e-4)


def test_wald_s_bound_on_the_first_error() -> None:
    # Wald's inequality: the chance to accept wrongly is at most alpha / (1 - beta); stopping at ten only lowers it.
    assert walk(0.5, 2)[0] <= 0.05 / 0.95


@pytest.mark.parametrize(("choices", "right", "wrong"), [(2, 0.641854, -2.302585), (3, 1.047319, -2.590267)])
def test_the_weights_are_logarithms_of_likelihood_ratios(choices: int, right: float, wrong: float) -> None:
    assert weight_of_answer(right=True, choices=choices) == pytest.approx(right, abs=6e-7)
    assert weight_of_answer(right=False, choices=choices) == pytest.approx(wrong, abs=6e-7)
    assert weight_of_answer(right=True, choices=choices) == pytest.approx(log(0.95 * choices))
