"""Measures in words: what a form measures, and what a measured trait is worth at a pair."""

from __future__ import annotations

from math import floor, log10
from typing import Final

from drillhall.core.measure_worth import MeasureWorth
from drillhall.core.values import Measured
from drillhall.words import Said, joined, say

NEARLY_ALL: Final = 0.95
"""From here on a cut puts nearly all right, as is said of traits that are seen."""


def measure_in_words(measured: Measured, unit: str) -> Said:
    """Return what a form measures.

    >>> str(measure_in_words(Measured(38.0, 2.5, 40), "mm"))
    '38 ± 2.5 mm (n = 40)'
    """
    told = say("{mean:g} ± {spread:g} {unit}", mean=measured.mean, spread=measured.spread, unit=unit)
    return told if measured.n is None else say("{measure} (n = {n})", measure=told, n=measured.n)


def cut_in_words(worth: MeasureWorth) -> Said:
    """Say what the best cut does: how many of ten it puts right, and that a weak one hardly tells.

    >>> from drillhall.core.measure_worth import worth_of
    >>> from drillhall.core.values import Trait, TraitKind
    >>> bill = Trait("bill", "Bill", "bill", TraitKind.SIZE, (), unit="mm")
    >>> str(cut_in_words(worth_of(bill, Measured(38, 2), Measured(44, 3))))
    'decides: a cut at 40.8 mm puts 9 in 10 right'
    """
    if worth.cut is None or not worth.tells:
        return say("measured, and hardly tells these two")
    cut, unit = rounded(worth.cut, worth), worth.trait.unit
    if worth.right_rate >= NEARLY_ALL:
        return say("decides: a cut at {cut:g} {unit} puts nearly all right", cut=cut, unit=unit)
    right = round(worth.right_rate * 10)
    if worth.decides:
        return say("decides: a cut at {cut:g} {unit} puts {n} in 10 right", cut=cut, unit=unit, n=right)
    return say("helps: a cut at {cut:g} {unit} puts {n} in 10 right", cut=cut, unit=unit, n=right)


def numbers_in_words(worth: MeasureWorth) -> Said:
    """Tell the numbers of a measured trait: how far apart the two lie, how often the larger is the larger, what they share.

    What the cut puts right on either side is told where there is a cut.
    """
    told = say("Cohen's d {d:.1f}, AUC {auc:.2f}, overlap {overlap:.0f} %", d=abs(worth.d), auc=worth.auc, overlap=worth.overlap * 100)
    if worth.cut is None:
        return told
    sides = say(
        "right on either side of the cut: {first:.0f} and {second:.0f} in 100",
        first=worth.first_right * 100,
        second=worth.second_right * 100,
    )
    return joined("; ", (told, sides))


def rounded(cut: float, worth: MeasureWorth) -> float:
    """Return a cut to a tenth of the lesser spread, beyond which no digit means anything."""
    return round(cut, 1 - floor(log10(min(worth.first.spread, worth.second.spread))))
