"""What a measured trait is worth for telling a pair, and its place among the traits that are seen."""

from __future__ import annotations

from dataclasses import dataclass

from drillhall.core.measures import auc, best_cut, cohens_d, measure_bits, overlap
from drillhall.core.traits import DECIDES_BITS, TELLS_BITS, TraitWorth, in_order_of_telling, order_of_telling
from drillhall.core.values import Measured, PairLore, Trait


@dataclass(frozen=True, slots=True)
class MeasureWorth:
    """What one measured trait is worth for telling a pair, at equal odds.

    bits: expected information, 0 to 1; d: Cohen's d, the second form less the first; auc: chance that of two specimens the one of the
    form with the larger mean measures more, 0.5 to 1; cut: the best single cut in the trait's unit, None where the two are measured
    alike; first_right, second_right: how many of either form the cut puts right; overlap: what the two have in common, 0 to 1.
    """

    trait: Trait
    first: Measured
    second: Measured
    bits: float
    d: float
    auc: float
    cut: float | None
    first_right: float
    second_right: float
    overlap: float
    hard_to_see: bool = False

    @property
    def right_rate(self) -> float:
        """How often a guess by the cut alone is right at equal odds, 0.5 to 1."""
        return (self.first_right + self.second_right) / 2

    @property
    def decides(self) -> bool:
        """Whether it is enough by itself, by the same measure as a trait with states."""
        return self.bits >= DECIDES_BITS

    @property
    def tells(self) -> bool:
        """Whether it is worth telling at all."""
        return self.bits >= TELLS_BITS


def worth_of(trait: Trait, first: Measured, second: Measured) -> MeasureWorth:
    """Return what a measured trait is worth for telling two forms at equal odds."""
    cut, first_right, second_right = best_cut(first, second)
    return MeasureWorth(
        trait=trait,
        first=first,
        second=second,
        bits=min(measure_bits({1: 0.5, 2: 0.5}, {1: first, 2: second}), 1.0),
        d=cohens_d(first, second),
        auc=auc(first, second),
        cut=cut,
        first_right=first_right,
        second_right=second_right,
        overlap=overlap(first, second),
    )


def measured_worths(lore: PairLore) -> tuple[MeasureWorth, ...]:
    """Return what the measured traits of a pair are worth, of which both forms have a measure, the most telling first."""
    first, second = (lore.measures.get(form.id, {}) for form in (lore.pair.first, lore.pair.second))
    both = [trait for trait in lore.traits if trait.key in first and trait.key in second]
    return in_order_of_telling([worth_of(trait, first[trait.key], second[trait.key]) for trait in both])


def told_together(lore: PairLore) -> tuple[TraitWorth | MeasureWorth, ...]:
    """Return traits with states and measured ones in one order of telling; one that has both stands there twice."""
    return in_order_of_telling([*order_of_telling(lore), *measured_worths(lore)])
