"""The glossary of parts: every word that a catalogue may use is told, and every number on the drawings has its place."""

from __future__ import annotations

from math import dist

import pytest

from drillhall.core.terms import PARTS
from drillhall.core.topography import DRAWING, GLOSSARY, RAISED_WING, PartTold, is_told

DRAWN = [told for told in GLOSSARY.values() if told.spot]
RADIUS = 17


def test_every_part_that_a_catalogue_may_name_is_told() -> None:
    assert set(GLOSSARY) == set(PARTS)
    assert {told.label for told in GLOSSARY.values()} == {part.label for part in PARTS.values()}


@pytest.mark.parametrize("told", GLOSSARY.values(), ids=lambda told: told.key)
def test_a_part_is_told_in_a_sentence(told: PartTold) -> None:
    assert told.words.endswith(".")
    assert len(told.words) > 30


def test_a_bird_has_all_its_parts_on_the_drawing() -> None:
    assert {told.key for told in GLOSSARY.values() if not told.spot} == {"whole", "forewing", "hindwing", "antenna", "shell", "egg"}


@pytest.mark.parametrize("told", DRAWN, ids=lambda told: told.key)
def test_a_number_stands_on_its_drawing(told: PartTold) -> None:
    assert told.spot
    assert told.number_at
    wide, high = RAISED_WING if told.on_wing else DRAWING
    assert all(0 <= one <= most for one, most in zip(told.spot, (wide, high), strict=True))
    assert RADIUS <= told.number_at[0] <= wide - RADIUS
    assert RADIUS <= told.number_at[1] <= high - RADIUS


def test_no_number_lies_upon_another_or_on_a_part() -> None:
    on_bird = [told for told in DRAWN if not told.on_wing]
    for told in on_bird:
        others = [other for other in on_bird if other is not told]
        assert all(dist(told.number_at, other.number_at) > 2 * RADIUS for other in others), told.key  # type: ignore[arg-type]
        assert all(dist(told.number_at, other.spot) > RADIUS for other in on_bird), told.key  # type: ignore[arg-type]


@pytest.mark.parametrize("word", ["", "gill edge", "whole", "Bill"])
def test_what_the_glossary_does_not_tell_is_not_linked(word: str) -> None:
    assert not is_told(word)
