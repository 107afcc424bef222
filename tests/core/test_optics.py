"""Farther, hazier and with less glass, less is left; haze and colour vision keep within what a screen shows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.optics import Deficiency, FarView, as_seen_by, hazed, left_in_words, to_linear, to_srgb, what_is_left

LENGTHS, DISTANCES, GLASS = st.floats(20, 3000), st.floats(2, 5000), st.floats(1, 80)
COLOURS = st.tuples(*[st.integers(0, 255)] * 3)


@given(LENGTHS, DISTANCES, GLASS, st.floats(1.01, 10))
def test_farther_away_less_is_left(length_mm: float, distance_m: float, glass: float, farther: float) -> None:
    near, far = (what_is_left(length_mm, FarView(away, glass, 10.0)) for away in (distance_m, distance_m * farther))
    assert far.length_px < near.length_px
    assert far.detail_mm > near.detail_mm
    assert far.transmission < near.transmission


@given(LENGTHS, DISTANCES, GLASS)
def test_details_of_the_least_size_fill_its_length(length_mm: float, distance_m: float, glass: float) -> None:
    left = what_is_left(length_mm, FarView(distance_m, glass))
    # Two ways to the same number; they part by the tangent alone, at most below 5 degrees by 0.3 %.
    if left.angle_arcmin / glass < 300:
        assert left.length_px * left.detail_mm == pytest.approx(length_mm, rel=0.003)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_haze_never_turns_light_and_dark_round(share: float, one: float, other: float) -> None:
    dark, light = (hazed(value, share) for value in sorted((one, other)))
    assert 0 <= dark <= light <= 1


@given(st.integers(0, 255))
def test_light_comes_back_as_the_value_it_was(value: int) -> None:
    assert round(to_srgb(to_linear(value / 255)) * 255) == value


@given(st.integers(0, 255), st.sampled_from(Deficiency))
def test_greys_look_the_same_to_everybody(value: int, deficiency: Deficiency) -> None:
    assert as_seen_by((value, value, value), deficiency) == (value, value, value)


@given(COLOURS, st.sampled_from(Deficiency))
def test_a_colour_seen_otherwise_is_still_a_colour(colour: tuple[int, int, int], deficiency: Deficiency) -> None:
    assert all(0 <= value <= 255 for value in as_seen_by(colour, deficiency))


def test_what_is_a_dot_is_called_one() -> None:
    assert left_in_words(what_is_left(140, FarView(1000)))[0].startswith("It is a dot")


def test_clear_air_takes_nothing() -> None:
    assert hazed(0.37, 1.0) == 0.37
    assert len(left_in_words(what_is_left(500, FarView(200, 8)))) == 2


@pytest.mark.parametrize(
    ("visibility_km", "words"),
    [(0.05, "leaves nothing"), (0.3, "9 tenths"), (1.0, "half"), (5.0, "a seventh"), (30.0, "a twentieth")],
)
def test_what_haze_takes_is_said_in_words(visibility_km: float, words: str) -> None:
    assert words in left_in_words(what_is_left(500, FarView(200, 8, visibility_km)))[-1]


@pytest.mark.parametrize(("distance_m", "words"), [(10, "0.4 mm"), (20, "0.7 mm"), (200, "7 mm"), (5000, "18 cm")])
def test_details_lost_are_said_in_words(distance_m: float, words: str) -> None:
    assert words in left_in_words(what_is_left(500, FarView(distance_m, 8)))[1]
