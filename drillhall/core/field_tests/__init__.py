"""What a field test is made of and what may be said of it: composing, item analysis, reliability, two sittings compared."""

from drillhall.core.field_tests.comparing import Agreement, Changed, PairedDifference, agreement, mcnemar, paired_difference
from drillhall.core.field_tests.composing import AskedOf, Composed, Lacking, PairAsked, Spare, compose, shuffled
from drillhall.core.field_tests.items import ENOUGH_SITTERS, Doubt, Item, analyse, doubt_of, upper_lower
from drillhall.core.field_tests.reliability import Reliability, questions_needed, reliability

__all__ = [
    "ENOUGH_SITTERS",
    "Agreement",
    "AskedOf",
    "Changed",
    "Composed",
    "Doubt",
    "Item",
    "Lacking",
    "PairAsked",
    "PairedDifference",
    "Reliability",
    "Spare",
    "agreement",
    "analyse",
    "compose",
    "doubt_of",
    "mcnemar",
    "paired_difference",
    "questions_needed",
    "reliability",
    "shuffled",
    "upper_lower",
]
