"""Says which colour traits a learner with a colour-vision deficiency can read, going by what she has told; nothing is ever inferred."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import hypot
from types import MappingProxyType
from typing import Final

from drillhall.core.optics import Deficiency, as_seen_by, to_linear
from drillhall.core.traits import TraitWorth, order_of_telling
from drillhall.core.values import PairLore, State, Trait, TraitKind

JUST_NOTICEABLE: Final = 2.3
"""Colours nearer than this look alike. Source: Mahy, Van Eycken and Oosterlinck 1994, Color Res Appl 19:105 (from memory)."""

_D65: Final = (0.95047, 1.0, 1.08883)
_TO_XYZ: Final = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750), (0.0193339, 0.1191920, 0.9503041))


def colour_difference(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    """Return how far two sRGB colours look apart: the distance in CIELAB, 0 for the same, 100 for black and white.

    Source
    ------
    CIE 15: colour difference of 1976; sRGB by IEC 61966-2-1:1999, white point D65.

    >>> round(colour_difference((0, 0, 0), (255, 255, 255)), 3)
    100.0
    """
    first, second = _lab(one), _lab(other)
    return hypot(*(a - b for a, b in zip(first, second, strict=True)))


@dataclass(frozen=True, slots=True)
class Sight:
    """How somebody sees colours, going by what she has told: deficiencies any of which she may have, or colours lost altogether."""

    deficiencies: tuple[Deficiency, ...] = ()
    colours_lost: bool = False


USUAL_SIGHT: Final = Sight()
"""Of somebody who sees colours like most people, or has told nothing: every colour is trusted."""

_TOLD: Final[Mapping[str, Sight]] = MappingProxyType(
    {
        "red-green": Sight((Deficiency.PROTAN, Deficiency.DEUTAN)),
        "blue-yellow": Sight(colours_lost=True),
        "little": Sight(colours_lost=True),
    }
)


def sight_told(word: str) -> Sight:
    """Return how somebody sees colours who has told it in one of the words offered; any other word, or none, is usual sight.

    Who mixes up reds and greens may lack either of two kinds of cone, and need not know which. No model here covers blue and yellow,
    so no colour is trusted then.

    >>> sight_told("") == USUAL_SIGHT, len(sight_told("red-green").deficiencies)
    (True, 2)
    """
    return _TOLD.get(word, USUAL_SIGHT)


def can_read(worth: TraitWorth, sight: Sight) -> bool:
    """Say whether the two likeliest states of a trait can be told apart: always, except for colours that come to look alike.

    A colour trait whose states carry no colour cannot be judged, and counts as not to be read by who has told of a deficiency.

    Parameters
    ----------
    worth : a trait with the likeliest state of either form.
    sight : what the learner has told of her colour vision.
    """
    return _stay_apart(worth.trait.kind, (worth.first_state, worth.second_state), sight)


def can_read_states(trait: Trait, sight: Sight) -> bool:
    """Say whether every state of a trait can be told from every other, as `can_read` does for two."""
    return _stay_apart(trait.kind, trait.states, sight)


def hard_to_see(lore: PairLore, sight: Sight) -> frozenset[str]:
    """Return the keys of a pair's traits that she cannot read, for `PairLore.hard_to_see`."""
    if sight == USUAL_SIGHT:
        return frozenset()
    return frozenset(worth.trait.key for worth in order_of_telling(lore) if not can_read(worth, sight))


def _stay_apart(kind: TraitKind, states: Sequence[State], sight: Sight) -> bool:
    if kind is not TraitKind.COLOUR or sight == USUAL_SIGHT:
        return True
    if sight.colours_lost or not all(state.colour for state in states):
        return False
    seen = [[as_seen_by(_rgb(state.colour), deficiency) for state in states] for deficiency in sight.deficiencies]
    return all(colour_difference(one, other) >= JUST_NOTICEABLE for colours in seen for one, other in combinations(colours, 2))


def _rgb(colour: str) -> tuple[int, int, int]:
    digits = colour.removeprefix("#")
    return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)


def _lab(colour: tuple[int, int, int]) -> tuple[float, float, float]:
    light = [to_linear(value / 255) for value in colour]
    x, y, z = (
        _cube_root(sum(share * value for share, value in zip(row, light, strict=True)) / white)
        for row, white in zip(_TO_XYZ, _D65, strict=True)
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _cube_root(ratio: float) -> float:
    return float(ratio ** (1 / 3)) if ratio > 216 / 24389 else (24389 / 27 * ratio + 16) / 116
