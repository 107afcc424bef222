"""A colour trait gives way to one that she can read; nobody who has told nothing is treated otherwise."""

from __future__ import annotations

import pytest

from drillhall.core.optics import Deficiency
from drillhall.core.sight import can_read, colour_difference, order_for, readable
from drillhall.core.traits import order_of_telling
from drillhall.core.values import PairLore, State, Trait, TraitKind
from tests.core.lore import lore_of, parted, trait

# Brown 150,110,60 beside green 90,130,60, and black beside white.
GREEN = Trait("crown", "Crown", "head", TraitKind.COLOUR, (State("one", "brown", (), "#966e3c"), State("other", "green", (), "#5a823c")))
RED = Trait("leg", "Leg", "leg", TraitKind.COLOUR, (State("one", "olive", (), "#6d5f00"), State("other", "red", (), "#ff0000")))
BARE = trait("bill", TraitKind.COLOUR)
SHAPE = trait("tail", TraitKind.STRUCTURE)


def lore() -> PairLore:
    return lore_of(*((one, parted(0.98), parted(0.02)) for one in (RED, BARE)), (SHAPE, parted(0.7), parted(0.3)))


def test_what_looks_alike_comes_last_and_keeps_its_place_otherwise() -> None:
    told = order_of_telling(lore())
    assert [worth.trait.key for worth in told] == ["leg", "bill", "tail"]
    assert [worth.trait.key for worth in order_for(told, Deficiency.PROTAN)] == ["tail", "leg", "bill"]
    assert order_for(told, None) == told


def test_red_that_looks_like_olive_cannot_be_read() -> None:
    # Red is 109,95,0 to a protanope: checked in the tests of optics against colorspacious.
    worth = order_of_telling(lore())[0]
    assert not can_read(worth, Deficiency.PROTAN)
    assert can_read(worth, Deficiency.DEUTAN)
    assert can_read(worth, None)


def test_colours_that_stay_apart_are_read() -> None:
    told = order_of_telling(lore_of((GREEN, parted(0.98), parted(0.02))))
    assert can_read(told[0], Deficiency.PROTAN)


def test_a_colour_without_a_colour_is_not_trusted() -> None:
    told = order_of_telling(lore())
    assert readable(lore(), told, Deficiency.DEUTAN) == {"leg", "tail"}
    assert readable(lore(), told, None) == {"leg", "bill", "tail"}


@pytest.mark.parametrize("deficiency", list(Deficiency))
def test_structure_is_never_touched(deficiency: Deficiency) -> None:
    assert can_read(order_of_telling(lore_of((SHAPE, parted(0.9), parted(0.1))))[0], deficiency)


def test_the_difference_is_one_between_two() -> None:
    assert colour_difference((10, 200, 30), (10, 200, 30)) == 0
    assert colour_difference((150, 110, 60), (90, 130, 60)) == colour_difference((90, 130, 60), (150, 110, 60))
