"""Two pictures side by side: now and then, until a pair is steady, one of each form, and never two of one scene."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest

from drillhall.core.clusters import InCluster
from drillhall.core.rounds.beside import BESIDE_SHARE, find_beside, may_stand_beside
from drillhall.core.values import Candidate, PlannedShowing, Standing
from tests.core.lore import FIRST, SECOND, THIRD, lore_of, parted, trait

NOW = datetime(2031, 3, 3, 12, tzinfo=UTC)
LONG_AGO = NOW - timedelta(days=9)
LORE = lore_of((trait("bill"), parted(0.9), parted(0.1)))


def picture(number: int, form_id: int, seen_at: datetime | None = LONG_AGO, **known: object) -> Candidate:
    return Candidate(number, form_id, seen_at=seen_at, **known)  # type: ignore[arg-type]


def found(candidates: list[Candidate], taken: frozenset[int] = frozenset(), *, times: int = 300) -> list[PlannedShowing]:
    thrown = (find_beside(LORE, candidates, taken, now=NOW, dice=Random(seed)) for seed in range(times))
    return [one for one in thrown if one is not None]


TWO = [picture(1, FIRST), picture(2, SECOND)]


def test_one_round_in_six_has_one_picture_of_either_form_asked_for_and_placed_by_the_dice() -> None:
    showings = found(TWO)
    assert abs(len(showings) / 300 - BESIDE_SHARE) < 0.06
    assert {(one.form_id, one.picture_id, one.beside_id) for one in showings} == {(FIRST, 1, 2), (SECOND, 2, 1)}
    assert {one.asks[0].key for one in showings} == {"1", "2"}
    assert all(len(one.asks) == 1 and not one.first_sight and not one.prompted for one in showings)


@pytest.mark.parametrize(
    ("settled", "rounds_before", "may"),
    [
        (Standing.UNMET, 0, False),
        (Standing.SHAKY, 0, False),
        (Standing.SHAKY, 1, True),
        (Standing.STEADY, 5, False),
        (Standing.FIELD_READY, 9, False),
    ],
)
def test_while_a_pair_is_shaky_and_not_in_its_first_round(settled: Standing, rounds_before: int, *, may: bool) -> None:
    assert may_stand_beside(settled, rounds_before=rounds_before) is may


@pytest.mark.parametrize(
    "candidates",
    [
        [picture(1, FIRST), picture(3, FIRST), picture(4, THIRD)],
        [picture(1, FIRST), picture(2, SECOND, own=True)],
        [picture(1, FIRST), picture(2, SECOND, NOW - timedelta(hours=3))],
        [picture(1, FIRST), picture(2, SECOND, None)],
        [],
    ],
    ids=["one form alone", "her own", "seen just now", "never seen", "no picture"],
)
def test_without_two_that_fit_there_is_none(candidates: list[Candidate]) -> None:
    assert found(candidates) == []


def test_pictures_of_the_round_itself_are_left_out() -> None:
    assert found(TWO, frozenset({2})) == []


def test_two_of_one_series_or_scene_never_stand_together() -> None:
    day = date(2031, 2, 2)
    series = [picture(n, form, scene=InCluster(n, "ebb", n << 20, None)) for n, form in ((1, FIRST), (2, SECOND))]
    scene = [picture(n, form, scene=InCluster(n, "", n, day)) for n, form in ((1, FIRST), (2, SECOND))]
    assert found(series) == [] == found(scene)
    other = picture(3, SECOND, scene=InCluster(3, "flood", 2**40 - 1, day))
    assert {one.beside_id if one.form_id == FIRST else one.picture_id for one in found([*series, other])} == {3}


def test_like_orientation_comes_first() -> None:
    left, right = picture(3, SECOND, orientation="left"), picture(4, SECOND, orientation="right")
    shown = {frozenset((one.picture_id, one.beside_id)) for one in found([picture(1, FIRST, orientation="left"), left, right])}
    assert shown == {frozenset((1, 3))}
