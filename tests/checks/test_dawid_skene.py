"""The estimate without our two additions is that of Dawid and Skene, by their own example and by crowd-kit."""

from __future__ import annotations

from random import Random

import pytest

from drillhall.core.doubt import Said, estimate

# Patient by patient: what five anaesthetists said of fitness, the first of them three times (Dawid and Skene 1979, table 1; from memory).
PATIENTS = """
111 1 1 1 1; 333 4 3 3 4; 112 2 1 2 2; 222 3 1 2 1; 222 3 2 2 2; 222 2 3 2 2; 122 2 1 1 1; 333 3 4 3 3; 222 2 2 2 3; 232 2 2 2 3;
444 4 4 4 4; 222 3 3 4 3; 111 1 1 1 1; 222 3 2 1 2; 121 1 1 1 1; 111 2 1 1 1; 111 1 1 1 1; 111 1 1 1 1; 222 2 2 2 1; 222 1 3 2 2;
222 2 2 2 2; 222 2 2 2 1; 222 3 2 2 2; 221 2 2 2 2; 111 1 1 1 1; 111 1 1 1 1; 232 2 2 2 2; 111 1 1 1 1; 111 1 1 1 1; 112 1 1 2 1;
111 1 1 1 1; 333 3 2 3 3; 111 1 1 1 1; 222 2 2 2 2; 222 3 2 3 2; 433 4 3 4 3; 221 2 2 3 2; 232 3 2 3 3; 333 3 4 3 2; 111 1 1 1 1;
111 1 1 1 1; 121 2 1 1 1; 232 2 2 2 2; 121 1 1 1 1; 222 2 2 2 2
"""

# crowd-kit 1.4.2, DawidSkene(n_iter=5000, tol=1e-14), run once on `made()`; its own rule ended it after six steps.
# It is no test dependency, since it brings transformers, pandas and pyarrow along.
STEPS = 6
CROWD_KIT = {
    1: (0.953508, 0.000000, 0.046491),
    2: (0.934172, 0.065826, 0.000002),
    6: (0.036634, 0.314385, 0.648981),
    8: (0.509390, 0.012288, 0.478322),
    9: (0.040656, 0.012724, 0.946620),
    12: (0.106206, 0.279386, 0.614408),
    13: (0.879162, 0.009840, 0.110998),
    14: (0.428673, 0.571319, 0.000007),
    22: (0.251305, 0.736399, 0.012295),
    33: (0.469654, 0.157003, 0.373343),
    40: (0.492295, 0.501265, 0.006441),
    50: (0.544426, 0.002009, 0.453564),
    56: (0.464595, 0.514976, 0.020429),
    59: (0.000666, 0.964792, 0.034542),
}


def made() -> list[Said]:
    """Sixty pictures and eight learners, some of whom mostly guess: chosen so that nothing is near certain."""
    dice = Random(11)
    told = []
    for picture in range(60):
        true = dice.choices(range(3), (5, 4, 1))[0]
        for learner in range(8):
            if dice.random() < 0.7:
                skill = 0.3 + 0.04 * learner
                said = true if dice.random() < skill else dice.choices(range(3), (3, 2, 1))[0]
                told.append(Said(picture, learner, said))
    return told


def test_the_anaesthetists() -> None:
    told = [
        Said(patient, observer, int(grade) - 1)
        for patient, row in enumerate(PATIENTS.split(";"), 1)
        for observer, grades in enumerate(row.split(), 1)
        for grade in grades
    ]
    found = estimate(told, classes=4, borrowed=0)
    assert len(found.pictures) == 45
    # Table 4 of the paper gives .40, .42, .11, .07 for how common the four grades are (from memory).
    common = [sum(chances[grade] for chances in found.pictures.values()) / 45 for grade in range(4)]
    assert common == pytest.approx([0.40, 0.42, 0.11, 0.07], abs=0.005)
    # And of the first observer: shown a 1 he says 1 in .89 and 2 in .11 (from memory).
    assert found.learners[1][0] == pytest.approx((0.89, 0.11, 0, 0), abs=0.005)


def test_against_crowd_kit() -> None:
    found = estimate(made(), classes=3, borrowed=0, most_steps=STEPS)
    for picture, chances in CROWD_KIT.items():
        assert found.pictures[picture] == pytest.approx(chances, abs=2e-6), picture
