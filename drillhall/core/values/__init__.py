"""The plain values the hall thinks with: frozen, without clock, dice, files or database.

Ids are the store's integers. A *form* stands in a pair by its side: `first` is always on the left, everywhere.
Durations end in their unit, probabilities run from 0 to 1.
"""

from drillhall.core.values.answers import (
    NEITHER,
    Direction,
    FreshAnswer,
    GivenAnswer,
    Interval,
    Memory,
    Outcome,
    RatedRound,
    Standing,
    Sure,
    TallyKey,
)
from drillhall.core.values.forms import (
    Chances,
    Form,
    FormTraits,
    Mark,
    Pair,
    PairLore,
    Rendition,
    State,
    Third,
    Trait,
    TraitKind,
    Use,
)
from drillhall.core.values.plans import (
    Ask,
    Candidate,
    DrillWish,
    Outing,
    PairToday,
    PlannedRound,
    PlannedShowing,
    RoundNeeds,
    Why,
)

__all__ = [
    "NEITHER",
    "Ask",
    "Candidate",
    "Chances",
    "Direction",
    "DrillWish",
    "Form",
    "FormTraits",
    "FreshAnswer",
    "GivenAnswer",
    "Interval",
    "Mark",
    "Memory",
    "Outcome",
    "Outing",
    "Pair",
    "PairLore",
    "PairToday",
    "PlannedRound",
    "PlannedShowing",
    "RatedRound",
    "Rendition",
    "RoundNeeds",
    "Standing",
    "State",
    "Sure",
    "TallyKey",
    "Third",
    "Trait",
    "TraitKind",
    "Use",
    "Why",
]
