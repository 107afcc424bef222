"""Two pictures side by side: the question which of them is a form, ready to show, and what has come of such questions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion.detection import LEAST_ANSWERS, forced_choice_sensitivity, log_linear
from drillhall.core.kinds import beside as beside_kind
from drillhall.core.traits import TraitWorth, deciding, likeliest
from drillhall.core.values import Ask, Form, Pair, PairLore
from drillhall.practice.packets import Choice, CloseUp, PictureView, Question, TwoTold
from drillhall.store.queries import sights
from drillhall.words import say, within

LEAST_BESIDE: Final = 2 * LEAST_ANSWERS
"""Below so many answers to a pair, whichever of its forms was asked for, the counts are told alone."""


@dataclass(frozen=True, slots=True)
class BesideStanding:
    """What came of a pair's questions with two pictures: `right` of `shown`, and d′ of a forced choice, or None for too few.

    That d′ is never set beside one of naming a single picture: two pictures are another task.
    """

    pair: Pair
    right: int
    shown: int
    d_prime: float | None


def two_question(place: int, ask: Ask, asked_id: int, lore: PairLore, pictures: tuple[PictureView, PictureView]) -> Question:
    """Return the question which of two pictures shows a form; `pictures` are those of the first and the second place."""
    pair = lore.pair
    forms = (pair.form(asked_id), pair.other(asked_id))
    if ask.key != beside_kind.PLACES[0]:
        forms = forms[::-1]
    worth = deciding(lore, _shown_on_both(pictures))
    sides = tuple(_side(lore, worth, form, picture) for form, picture in zip(forms, pictures, strict=True))
    return Question(
        place=place,
        kind=ask.kind,
        choices=tuple(Choice(key=key, label=say("Picture {number}", number=key)) for key in ask.choices),
        key=ask.key,
        two=TwoTold(pair.form(asked_id), worth.trait if worth else None, worth.decides if worth else False, sides[0], sides[1]),
        hint=say("Compare: {trait}.", trait=within(worth.trait.label))
        if worth
        else say("No trait that parts these two can be seen on both. Take in the whole."),
    )


def standings_beside(db: Session, account_id: int, pairs: Mapping[int, Pair]) -> tuple[BesideStanding, ...]:
    """Return what came of a learner's questions with two pictures, for each of some pairs that has any, in their order."""
    counts = sights.beside_sums(db, account_id)
    return tuple(_standing(pair, *counts[pair_id]) for pair_id, pair in pairs.items() if pair_id in counts)


def _standing(pair: Pair, missed: int, shown: int) -> BesideStanding:
    right = shown - missed
    told = forced_choice_sensitivity(log_linear(right, shown)) if shown >= LEAST_BESIDE else None
    return BesideStanding(pair, right, shown, told)


def _shown_on_both(pictures: tuple[PictureView, PictureView]) -> frozenset[str] | None:
    """Return the traits that can be seen on both, or None where nobody has said of either."""
    said = [picture.shows for picture in pictures if picture.shows is not None]
    return frozenset.intersection(*said) if said else None


def _side(lore: PairLore, worth: TraitWorth | None, form: Form, picture: PictureView) -> CloseUp:
    key = worth.trait.key if worth else ""
    chances = lore.chances.get(form.id, {}).get(key)
    state = likeliest(worth.trait, chances) if worth and chances else None
    return CloseUp(form, picture, picture.marks.get(key), state.label if state else "", state.language if state else "")
