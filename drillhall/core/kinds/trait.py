"""The question which state of a trait can be seen: asked before the form is named, to bring the eye to what decides."""

from __future__ import annotations

from typing import Final

from drillhall.core.traits import likeliest
from drillhall.core.values import Ask, Chances, Trait
from drillhall.errors import BadAnswer
from drillhall.words import say

KEY: Final = "trait"
takes_sure: Final = False

MOST_CHOICES: Final = 4
"""More states than this cannot be taken in at one glance."""

SURE_CHANCE: Final = 0.85
"""A form must show its likeliest state at least this often, or the key would be wrong too often."""

_ROUNDING: Final = 1e-9


def may_be_asked(trait: Trait, shown: Chances, other: Chances) -> bool:
    """Say whether asking for the trait makes sense: the key is sure, and the other form usually shows another state."""
    state = likeliest(trait, shown)
    return shown.get(state.key, 0.0) >= SURE_CHANCE - _ROUNDING and likeliest(trait, other).key != state.key


def make_ask(trait: Trait, shown: Chances, other: Chances) -> Ask:
    """Ask for the state of a trait on a picture of the form with the chances `shown`, in a pair with the form with `other`.

    Up to four states are offered in the author's order; of more, the likeliest state of either form and the next likeliest ones.
    """
    key = likeliest(trait, shown).key
    by_chance = sorted(trait.states, key=lambda state: -(shown.get(state.key, 0.0) + other.get(state.key, 0.0)))
    needed = [key, likeliest(trait, other).key]
    offered = {*needed, *[state.key for state in by_chance if state.key not in needed][: MOST_CHOICES - len(set(needed))]}
    return Ask(kind=KEY, choices=tuple(state.key for state in trait.states if state.key in offered), key=key, trait=trait.key)


def validate(ask: Ask, said: str) -> None:
    """Refuse an answer that was not among the choices."""
    if said not in ask.choices:
        raise BadAnswer(say("That state was not among the choices: answer with one of those shown."), field="said")


def is_right(ask: Ask, said: str) -> bool:
    """Say whether the state that was named is the one in the picture."""
    validate(ask, said)
    return said == ask.key
