"""A colour trait gives way to one that she can read; nobody who has told nothing is treated otherwise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drillhall.core.optics import Deficiency
from drillhall.core.prompts import order_of_asking
from drillhall.core.sight import USUAL_SIGHT, Sight, can_read, can_read_states, colour_difference, hard_to_see, sight_told
from drillhall.core.traits import deciding, order_of_telling
from drillhall.core.values import PairLore, State, Trait, TraitKind
from tests.core.lore import lore_of, parted, trait

# Brown 150,110,60 beside green 90,130,60, and black beside white.
GREEN = Trait("crown", "Crown", "head", TraitKind.COLOUR, (State("one", "brown", (), "#966e3c"), State("other", "green", (), "#5a823c")))
RED = Trait("leg", "Leg", "leg", TraitKind.COLOUR, (State("one", "olive", (), "#6d5f00"), State("other", "red", (), "#ff0000")))
BARE = trait("bill", TraitKind.COLOUR)
SHAPE = trait("tail", TraitKind.STRUCTURE)
PROTAN, DEUTAN = Sight((Deficiency.PROTAN,)), Sight((Deficiency.DEUTAN,))


def lore() -> PairLore:
    return lore_of(*((one, parted(0.98), parted(0.02)) for one in (RED, BARE)), (SHAPE, parted(0.7), parted(0.3)))


def test_what_looks_alike_comes_last_and_keeps_its_place_otherwise() -> None:
    told = order_of_telling(lore())
    assert [worth.trait.key for worth in told] == ["leg", "bill", "tail"]
    hers = replace(lore(), hard_to_see=hard_to_see(lore(), PROTAN))
    assert [worth.trait.key for worth in order_of_telling(hers)] == ["tail", "leg", "bill"]
    assert [worth.trait.key for worth in order_of_asking(order_of_telling(hers), {})] == ["tail"]
    assert [worth.trait.key for worth in order_of_asking(told, {})] == ["leg", "bill", "tail"]
    decides = deciding(hers)
    assert decides is not None
    assert decides.trait.key == "tail"


def test_red_that_looks_like_olive_cannot_be_read() -> None:
    # Red is 109,95,0 to a protanope: checked in the tests of optics against colorspacious.
    worth = order_of_telling(lore())[0]
    assert not can_read(worth, PROTAN)
    assert can_read(worth, DEUTAN)
    assert can_read(worth, USUAL_SIGHT)


def test_colours_that_stay_apart_are_read() -> None:
    told = order_of_telling(lore_of((GREEN, parted(0.98), parted(0.02))))
    assert can_read(told[0], PROTAN)


def test_a_colour_without_a_colour_is_not_trusted() -> None:
    assert hard_to_see(lore(), DEUTAN) == {"bill"}
    assert hard_to_see(lore(), USUAL_SIGHT) == frozenset()


@pytest.mark.parametrize("word", ["red-green", "blue-yellow", "little"])
def test_structure_is_never_touched(word: str) -> None:
    assert can_read(order_of_telling(lore_of((SHAPE, parted(0.9), parted(0.1))))[0], sight_told(word))


def test_red_and_green_must_stay_apart_for_either_kind() -> None:
    assert not can_read_states(RED, sight_told("red-green"))
    assert can_read_states(GREEN, sight_told("red-green"))
    assert not can_read_states(BARE, sight_told("red-green"))


@pytest.mark.parametrize("word", ["blue-yellow", "little"])
def test_no_colour_is_trusted_where_none_can_be_worked_out(word: str) -> None:
    assert not can_read_states(GREEN, sight_told(word))


@pytest.mark.parametrize("word", ["", "usual", "no word of ours"])
def test_whoever_tells_nothing_reads_every_colour(word: str) -> None:
    assert can_read_states(RED, sight_told(word))
    assert can_read_states(BARE, sight_told(word))


def test_the_difference_is_one_between_two() -> None:
    assert colour_difference((10, 200, 30), (10, 200, 30)) == 0
    assert colour_difference((150, 110, 60), (90, 130, 60)) == colour_difference((90, 130, 60), (150, 110, 60))
