"""Adds an extra to the round of a steady pair: a picture she has seen, now as from far off or as a bare shape."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Final

from drillhall.core.kinds import form as form_kind
from drillhall.core.rounds.choose import STILL_IN_MIND
from drillhall.core.traits import TraitWorth, order_of_telling
from drillhall.core.values import Candidate, PairLore, PlannedShowing, Rendition, Trait, TraitKind

if TYPE_CHECKING:
    from random import Random

EXTRA_SHARE: Final = 1 / 3
"""Of the rounds of a steady pair, so many hold an extra where there is a picture for it."""

KEPT: Final[Mapping[Rendition, frozenset[TraitKind]]] = {
    Rendition.SHAPE_ONLY: frozenset({TraitKind.STRUCTURE, TraitKind.SIZE, TraitKind.BEHAVIOUR}),
    Rendition.FAR_OFF: frozenset({TraitKind.STRUCTURE, TraitKind.SIZE, TraitKind.BEHAVIOUR, TraitKind.COLOUR}),
}
"""What a rendition leaves: a shape has no colour, and patterns run together far off; common practice, no source."""


def survives(trait: Trait, rendition: Rendition) -> bool:
    """Say whether a trait can still be seen in a rendition.

    >>> bars = Trait("bars", "Flank bars", "flank", TraitKind.PATTERN, ())
    >>> survives(bars, Rendition.AS_TAKEN), survives(bars, Rendition.FAR_OFF)
    (True, False)
    """
    return rendition is Rendition.AS_TAKEN or trait.kind in KEPT[rendition]


def survivors(lore: PairLore, shows: frozenset[str] | None, rendition: Rendition) -> frozenset[str] | None:
    """Return the traits that can be seen on a picture in a rendition; None where nobody has said and it is shown as taken."""
    if rendition is Rendition.AS_TAKEN:
        return shows
    return frozenset(trait.key for trait in lore.traits if (shows is None or trait.key in shows) and survives(trait, rendition))


def find_extra(
    lore: PairLore, candidates: Sequence[Candidate], taken: Collection[int], *, neither: bool, now: datetime, dice: Random
) -> PlannedShowing | None:
    """Throw whether a round gets an extra, and choose it.

    Parameters
    ----------
    lore : the pair's; only a picture on which a deciding trait survives is taken.
    candidates : with the renditions that are there of each; `may_alter` says whether she may have an altered copy.
    taken : pictures of the round itself.
    neither : whether *neither* is offered in this round.
    now : the moment of planning; a picture never seen keeps its first sight, and one seen within a day is too well in mind.
    dice : the same dice choose the same.
    """
    told = order_of_telling(lore)
    able = [
        (candidate, rendition)
        for candidate in candidates
        if candidate.may_alter and candidate.picture_id not in taken and candidate.form_id in (lore.pair.first.id, lore.pair.second.id)
        if candidate.seen_at is not None and now - candidate.seen_at >= STILL_IN_MIND
        for rendition in sorted(candidate.renditions)
        if _can_be_told(lore, told, candidate, rendition)
    ]
    if not able or dice.random() >= EXTRA_SHARE:
        return None
    candidate, rendition = dice.choice(able)
    ask = form_kind.make_ask(lore.pair, candidate.form_id, neither=neither)
    return PlannedShowing(picture_id=candidate.picture_id, form_id=candidate.form_id, asks=(ask,), rendition=rendition)


def _can_be_told(lore: PairLore, told: Sequence[TraitWorth], candidate: Candidate, rendition: Rendition) -> bool:
    left = survivors(lore, candidate.shows, rendition) or frozenset()
    return any(worth.decides and worth.parts_them and worth.trait.key in left for worth in told)
