"""Which picture: never seen, then fresh, then typical while it helps, then like the others, then longest ago."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from drillhall.core.rounds.choose import PictureShelf
from drillhall.core.values import Candidate

A, B = 1, 2
NOW = datetime(2031, 5, 4, 7, 30, tzinfo=UTC)


def picture(picture_id: int, form_id: int = A, days: float | None = None, **more: object) -> Candidate:
    """A picture last seen so many days ago, or never."""
    seen_at = None if days is None else NOW - timedelta(days=days)
    return replace(Candidate(picture_id, form_id, seen_at=seen_at), **more)


def draw(candidates: list[Candidate], forms: list[int], *, typical_first: bool = True, seed: int = 1) -> list[int]:
    shelf = PictureShelf(candidates, now=NOW, dice=Random(seed), typical_first=typical_first)
    return [one.picture_id for one in shelf.draw(forms, instead={A: B, B: A})]


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (picture(1), picture(2, days=400)),  # never seen before seen
        (picture(1, typical=False), picture(2, days=400)),  # ... however untypical
        (picture(1, days=60), picture(2, days=59)),  # fresh before not
        (picture(1, days=61, typical=False), picture(2, days=59)),
        (picture(1), picture(2, typical=False)),  # typical before not
        (picture(1, days=5), picture(2, days=20, typical=False)),
        (picture(1, days=20), picture(2, days=5)),  # longest ago
        (picture(1, days=2, typical=False), picture(2, days=0.5)),  # not what she saw a while ago
        (picture(1, days=400), picture(2, own=True)),  # her own are known to her
        (picture(1, days=400), picture(2, own=True, days=500)),
    ],
)
@pytest.mark.parametrize("seed", range(6))
def test_the_better_picture_is_taken(better: Candidate, worse: Candidate, seed: int) -> None:
    assert draw([better, worse], [A], seed=seed) == [better.picture_id]
    assert draw([worse, better], [A], seed=seed) == [better.picture_id]


TELLING = {"bill": 1.0, "rump": 0.8, "gait": 0.2}
CLEAN, NO_BILL, NO_GAIT = (frozenset(TELLING) - hidden for hidden in ({""}, {"bill"}, {"gait"}))


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (picture(1, shows=CLEAN), picture(2, shows=NO_GAIT)),  # what tells in sight, of equally fresh ones
        (picture(1, shows=NO_GAIT), picture(2, days=400, shows=CLEAN)),  # little is hidden: never seen comes first
        (picture(1, days=7, shows=CLEAN), picture(2, shows=NO_BILL)),  # half of what tells is hidden: what was rested comes first
        (picture(1, shows=NO_BILL), picture(2, days=6.9, shows=CLEAN)),  # ... but not what she saw lately
        (picture(1, days=7), picture(2, shows=NO_BILL)),  # nobody said what is hidden: nothing is held against it
        (picture(1, shows=NO_BILL), picture(2, days=30, own=True, shows=CLEAN)),  # her own never count as rested
        (picture(1, days=60, shows=CLEAN), picture(2, days=59, shows=CLEAN)),
    ],
)
@pytest.mark.parametrize("seed", range(3))
def test_what_tells_is_weighed_against_freshness(better: Candidate, worse: Candidate, seed: int) -> None:
    for candidates in ([better, worse], [worse, better]):
        shelf = PictureShelf(candidates, now=NOW, dice=Random(seed), typical_first=True, telling=TELLING)
        assert shelf.draw([A], instead={})[0] == better


def test_typical_no_longer_matters_once_steady() -> None:
    taken = {draw([picture(1), picture(2, typical=False)], [A], typical_first=False, seed=seed)[0] for seed in range(30)}
    assert taken == {1, 2}


def test_equal_pictures_fall_by_the_dice() -> None:
    taken = {draw([picture(number) for number in range(1, 6)], [A], seed=seed)[0] for seed in range(60)}
    assert taken == {1, 2, 3, 4, 5}


@pytest.mark.parametrize("seed", range(10))
def test_both_forms_are_shown_alike_so_that_the_background_tells_nothing(seed: int) -> None:
    candidates = [
        *(picture(number, A, setting="mud") for number in range(1, 9)),
        *(picture(number, A, setting="water") for number in range(11, 13)),
        *(picture(number, B, setting="water") for number in range(21, 24)),
    ]
    assert set(draw(candidates, [A, B, A, B], seed=seed)[::2]) == {11, 12}


def test_orientation_counts_as_setting_does() -> None:
    candidates = [picture(1, A, orientation="left"), picture(2, A, orientation="right"), picture(3, B, orientation="right")]
    for seed in range(10):
        assert draw(candidates, [A, B], seed=seed) == [2, 3]


def test_setting_is_chosen_among_the_pictures_at_their_best() -> None:
    # Form A has many pictures on mud, all seen; those she has not seen are on water, and form B is shown on water too.
    candidates = [
        *(picture(number, A, setting="water") for number in (1, 2)),
        *(picture(number, A, days=90, setting="mud") for number in range(3, 9)),
        *(picture(number, B, setting="mud") for number in range(11, 15)),
        *(picture(number, B, setting="water") for number in (21, 22)),
    ]
    for seed in range(10):
        assert set(draw(candidates, [A, B, A, B], seed=seed)) == {1, 2, 21, 22}


def test_equal_settings_fall_by_the_dice() -> None:
    candidates = [
        picture(1, A, setting="mud"),
        picture(2, A, setting="water"),
        picture(3, B, setting="mud"),
        picture(4, B, setting="water"),
    ]
    assert {tuple(draw(candidates, [A, B], seed=seed)) for seed in range(30)} == {(1, 3), (2, 4)}


def test_likeness_does_not_outweigh_first_sight() -> None:
    candidates = [picture(1, A, days=90, setting="water"), picture(2, A, setting="mud"), picture(3, B, setting="water")]
    assert draw(candidates, [A, B]) == [2, 3]


def test_no_picture_is_drawn_twice_though_it_came_twice() -> None:
    assert draw([picture(1), picture(1)], [A, A]) == [1]


def test_form_that_ran_out_is_stood_in_for() -> None:
    assert sorted(draw([picture(1, A), picture(2, B), picture(3, B)], [A, A, B])) == [1, 2, 3]


def test_nothing_stands_in_for_a_form_without_another() -> None:
    assert draw([picture(1, A)], [9, A]) == [1]


def test_picture_seen_in_the_future_is_taken_last() -> None:
    assert draw([picture(1, days=-1), picture(2, days=3)], [A, A]) == [2, 1]


def test_empty_shelf_gives_nothing() -> None:
    shelf = PictureShelf([], now=NOW, dice=Random(1), typical_first=True)
    assert shelf.draw([A, B], instead={A: B}) == []
    assert not shelf.holds(A)


@pytest.mark.parametrize("seed", range(4))
def test_her_own_never_drilled_come_first_for_half_of_a_round(seed: int) -> None:
    hers = [picture(number, form, own=True) for number, form in ((1, A), (2, A), (3, B), (4, B))]
    others = [picture(number, form) for number, form in ((11, A), (12, A), (13, B), (14, B))]
    drawn = draw([*hers, *others], [A, B, A, B], seed=seed)
    assert [number < 10 for number in drawn] == [True, True, False, False]
    seen = [replace(one, seen_at=NOW - timedelta(days=30)) for one in hers]
    assert not {1, 2, 3, 4} & set(draw([*seen, *others], [A, B, A, B], seed=seed))


@pytest.mark.parametrize("seed", range(4))
def test_where_she_has_pictures_of_one_form_alone_they_would_tell_which_it_is(seed: int) -> None:
    hers, others = [picture(1, A, own=True), picture(2, A, own=True)], [picture(11, A), picture(12, B)]
    assert set(draw([*hers, *others], [A, B], seed=seed)) == {11, 12}


def test_whoever_owns_every_picture_has_full_rounds() -> None:
    all_hers = [picture(number, A if number % 2 else B, own=True) for number in range(1, 9)]
    assert len(set(draw(all_hers, [A, B, A, B]))) == 4
