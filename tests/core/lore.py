"""An invented pair for the tests of core: its traits, its chances, and a third that shares a trait with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from drillhall.core.values import Form, Pair, PairLore, State, Third, Trait, TraitKind

FIRST, SECOND, THIRD = 11, 12, 13
PAIR = Pair(1, Form(FIRST, "Grey Mudling", "Limicola una"), Form(SECOND, "Pale Mudling", "Limicola altera"))


def trait(key: str, kind: TraitKind = TraitKind.STRUCTURE, states: str = "one other") -> Trait:
    """A trait with the states named, as in "one other"."""
    return Trait(key, key.title(), "bill", kind, tuple(State(state, state) for state in states.split()))


def lore_of(
    *told: tuple[Trait, Mapping[str, float], Mapping[str, float]],
    thirds: Sequence[tuple[int, str]] = (),
) -> PairLore:
    """Lore of the pair: each trait with its chances for the first form and for the second."""
    return PairLore(
        pair=PAIR,
        traits=tuple(one for one, _, _ in told),
        chances={
            FIRST: {one.key: first for one, first, _ in told if first},
            SECOND: {one.key: second for one, _, second in told if second},
        },
        thirds=tuple(Third(form_id, key) for form_id, key in thirds),
    )


def parted(sure: float, key: str = "one", other: str = "other") -> Mapping[str, float]:
    """Chances of a trait of two states."""
    return {key: sure, other: 1 - sure}
