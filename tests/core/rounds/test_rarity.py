"""A rarity drill: even at first and told, then as rare as in the field and untold."""

from __future__ import annotations

from random import Random

import pytest

from drillhall.core.rounds.rarity import LEAST_RARE, WARM_UP, plan_rarity
from drillhall.errors import Invalid

RARE, COMMON = 7, 8


def drill(one_in: int = 10, showings: int = 40, seed: int = 1) -> list[int]:
    return [one.form_id for one in plan_rarity(rare_id=RARE, common_id=COMMON, one_in=one_in, showings=showings, dice=Random(seed))]


@pytest.mark.parametrize("seed", range(8))
def test_the_warm_up_is_even_and_told(seed: int) -> None:
    planned = plan_rarity(rare_id=RARE, common_id=COMMON, one_in=20, showings=40, dice=Random(seed))
    assert [one.form_id for one in planned[:WARM_UP]].count(RARE) == WARM_UP / 2
    assert [one.feedback for one in planned] == [True] * WARM_UP + [False] * 40


def test_over_many_drills_the_odds_are_those_asked_for() -> None:
    rare = sum(drill(seed=seed)[WARM_UP:].count(RARE) for seed in range(400))
    # 16,000 throws at one in ten, a little raised by the least of two: four standard deviations are 0.0095.
    assert abs(rare / 16_000 - 0.1 - 0.004) < 0.0095


@pytest.mark.parametrize("seed", range(20))
def test_there_is_always_something_to_miss(seed: int) -> None:
    assert drill(one_in=40, showings=40, seed=seed)[WARM_UP:].count(RARE) >= LEAST_RARE


@pytest.mark.parametrize(
    ("one_in", "showings", "field"), [(1, 40, "one_in"), (101, 150, "one_in"), (20, 19, "showings"), (20, 201, "showings")]
)
def test_odd_odds_and_lengths_are_refused(one_in: int, showings: int, field: str) -> None:
    with pytest.raises(Invalid) as refused:
        drill(one_in, showings)
    assert refused.value.field == field
