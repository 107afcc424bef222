"""Works out, for a page, what decides and what misleads at a pair, from what is said of it just now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drillhall.catalogues.editing.telling import lore_of
from drillhall.catalogues.folder import FolderCatalogue, FolderPair
from drillhall.core.measure_words import cut_in_words, measure_in_words, numbers_in_words
from drillhall.core.measure_worth import MeasureWorth, told_together
from drillhall.core.traits import TELLS_BITS, TraitWorth
from drillhall.core.values import Form, Pair, PairLore
from drillhall.errors import Invalid
from drillhall.practice.explaining import worth_in_words
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class WorkedTrait:
    """What one trait is worth at a pair, in words, with the likeliest state of either form, or what it measures, and the thirds that
    share it; `numbers` tells more of one that is measured."""

    label: str
    worth: str
    first: str
    second: str
    decides: bool
    misleads: bool
    thirds: tuple[Form, ...] = ()
    numbers: str = ""
    is_weak: bool = False


@dataclass(frozen=True, slots=True)
class Worked:
    """What is worked out of a pair: its traits in the order of telling, what decides first, or what is wrong with what was typed."""

    pair: Pair | None
    traits: tuple[WorkedTrait, ...] = ()
    wrong: str = ""

    @property
    def deciding(self) -> WorkedTrait | None:
        """The first trait that decides, or None."""
        return next((trait for trait in self.traits if trait.decides), None)


def work_out(said: FolderCatalogue, pair: FolderPair, ids: Mapping[str, int]) -> Worked:
    """Work out a pair from what a catalogue says; what cannot be meant as it stands is told instead."""
    try:
        lore = lore_of(said, pair, ids)
    except Invalid as wrong:
        return Worked(None, wrong=wrong.sentence)
    return Worked(
        lore.pair, tuple(_trait(lore, worth) if isinstance(worth, TraitWorth) else _measured(worth) for worth in told_together(lore))
    )


def _trait(lore: PairLore, worth: TraitWorth) -> WorkedTrait:
    tells = worth.misleads or (worth.parts_them and worth.bits >= TELLS_BITS)
    return WorkedTrait(
        label=worth.trait.label,
        worth=worth_in_words(worth, misleads=worth.misleads) if tells else say("tells nothing between these two"),
        first=worth.first_state.label,
        second=worth.second_state.label,
        decides=worth.decides,
        misleads=worth.misleads,
        thirds=tuple(lore.forms[form_id] for form_id in worth.third_ids),
        is_weak=not tells,
    )


def _measured(worth: MeasureWorth) -> WorkedTrait:
    return WorkedTrait(
        label=worth.trait.label,
        worth=cut_in_words(worth),
        first=measure_in_words(worth.first, worth.trait.unit),
        second=measure_in_words(worth.second, worth.trait.unit),
        decides=worth.decides,
        misleads=False,
        numbers=numbers_in_words(worth),
        is_weak=not worth.tells,
    )
