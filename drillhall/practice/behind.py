"""Names the trait behind a mix-up: the one that a learner misreads most for what it tells, by her answers to questions about traits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date

from sqlalchemy.orm import Session

from drillhall.core.confusion import Misses, decayed, week_of
from drillhall.core.prompts import TraitBehind, trait_behind
from drillhall.core.traits import order_of_telling
from drillhall.core.values import PairLore
from drillhall.practice.skill import REMEMBERED
from drillhall.store.queries import ahead
from drillhall.words import say, within


def traits_behind(db: Session, account_id: int, lores: Mapping[int, tuple[int, PairLore]], *, today: date) -> dict[int, TraitBehind]:
    """Return the trait that lies behind mix-ups of some pairs, where there are answers enough to say so.

    Parameters
    ----------
    lores : pair id to (catalogue, what it says of the pair). How well she reads a trait is taken over all pairs of its catalogue.
    """
    misses = misses_by_trait(db, account_id, today=today)
    own = Misses(
        sum(one.missed for traits in misses.values() for one in traits.values()),
        sum(one.shown for traits in misses.values() for one in traits.values()),
    )
    found = {}
    for pair_id, (catalogue_id, lore) in lores.items():
        behind = trait_behind(order_of_telling(lore), misses.get(catalogue_id, {}), own=own) if catalogue_id in misses else None
        if behind is not None:
            found[pair_id] = behind
    return found


def misses_by_trait(db: Session, account_id: int, *, today: date) -> dict[int, dict[str, Misses]]:
    """Return, by catalogue and trait, how often a learner misread it when asked, and how often she was asked; both decayed."""
    week_now, since = week_of(today), week_of(today - REMEMBERED)
    missed: dict[tuple[int, str], list[tuple[int, float]]] = defaultdict(list)
    shown: dict[tuple[int, str], list[tuple[int, float]]] = defaultdict(list)
    for catalogue_id, trait, week, wrong, asked in ahead.prompt_misses(db, account_id, since_week=since):
        missed[catalogue_id, trait].append((week, wrong))
        shown[catalogue_id, trait].append((week, asked))
    found: dict[int, dict[str, Misses]] = defaultdict(dict)
    for (catalogue_id, trait), counts in shown.items():
        wrong_ones = decayed(missed[catalogue_id, trait], week_now=week_now)
        found[catalogue_id][trait] = Misses(wrong_ones, decayed(counts, week_now=week_now))
    return dict(found)


def in_words(behind: TraitBehind | None) -> str:
    """Say which trait lies behind a mix-up; empty where nothing can be said."""
    if behind is None:
        return ""
    return say(
        "Behind it lies the {trait}: asked about it, you misread it about {n} times in 10",
        trait=within(behind.worth.trait.label),
        n=round(behind.weakness * 10),
    )
