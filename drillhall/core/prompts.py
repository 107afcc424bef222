"""Follows how well a learner reads each trait: what there is left to learn from a prompt, when it fades, what lies behind a mix-up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from drillhall.core.confusion import Misses, mixup_rate
from drillhall.core.traits import TELLS_BITS, TraitWorth

STARTING_WEAKNESS: Final = 0.25
"""How often anybody misreads a trait before an answer was seen; common practice, no source."""

ENOUGH_ASKED: Final = 8
"""So many answers to prompts about a trait are needed before anything is said of it."""

FADED_BELOW: Final = 0.15
"""A trait that she misreads less often than this, by the shrunk estimate, is no longer asked for."""


@dataclass(frozen=True, slots=True)
class TraitBehind:
    """The trait that most likely lies behind a mix-up: how often she misreads it, by estimate, and out of how many answers."""

    worth: TraitWorth
    weakness: float
    asked: float


def weakness_of(misses: Misses | None, *, own: Misses | None = None) -> float:
    """Estimate how often a learner misreads a trait: her misses of its prompts, shrunk towards how often she misreads any.

    Parameters
    ----------
    misses : decayed misses and prompts about the trait, or None for none.
    own : the same over all traits, or None.

    Returns
    -------
    float: 0 to 1; the same estimate as for directions of a pair.

    >>> weakness_of(None), round(weakness_of(Misses(4, 8)), 3)
    (0.25, 0.375)
    """
    every, one = own or Misses(), misses or Misses()
    return mixup_rate(one.missed, one.shown, prior=mixup_rate(every.missed, every.shown, prior=STARTING_WEAKNESS))


def information_left(worth: TraitWorth, misses: Misses | None, *, own: Misses | None = None) -> float:
    """Return what there is left for her to learn from a trait: what it tells about the pair, times how often she misreads it, in bits."""
    return worth.bits * weakness_of(misses, own=own)


def has_faded(misses: Misses | None) -> bool:
    """Say whether a trait need not be asked for any more: she was asked often enough and hardly misreads it.

    >>> has_faded(Misses(0, 12)), has_faded(Misses(0, 5)), has_faded(Misses(4, 12))
    (True, False, False)
    """
    return misses is not None and misses.shown >= ENOUGH_ASKED and weakness_of(misses) < FADED_BELOW


def order_of_asking(
    told: Sequence[TraitWorth], misses: Mapping[str, Misses], *, missed_last: str = "", own: Misses | None = None
) -> tuple[TraitWorth, ...]:
    """Return the traits worth asking for, the one with most left for this learner first; a trait just missed comes before all.

    Parameters
    ----------
    told : the pair's traits in the order of telling, which decides between equals.
    misses : trait key to her decayed misses and prompts; a trait that is absent was never asked.
    missed_last : the trait whose prompt she missed last, or empty; it is asked again even if it had faded.
    """
    asked = [
        worth
        for worth in told
        if worth.parts_them
        and worth.bits >= TELLS_BITS
        and not worth.hard_to_see
        and (worth.trait.key == missed_last or not has_faded(misses.get(worth.trait.key)))
    ]
    return tuple(sorted(asked, key=lambda one: (one.trait.key != missed_last, -information_left(one, misses.get(one.trait.key), own=own))))


def trait_behind(told: Sequence[TraitWorth], misses: Mapping[str, Misses], *, own: Misses | None = None) -> TraitBehind | None:
    """Return the trait whose misreading explains most of a mix-up: weakness times information; None where too little was asked.

    Only traits with eight answers or more are compared, and one that she misreads no more often than a faded one explains nothing.
    """
    known = [
        TraitBehind(worth, weakness_of(found, own=own), found.shown)
        for worth in told
        if worth.parts_them and (found := misses.get(worth.trait.key)) is not None and found.shown >= ENOUGH_ASKED
    ]
    behind = max(known, key=lambda one: one.weakness * one.worth.bits, default=None)
    return behind if behind is not None and behind.weakness >= FADED_BELOW else None
