"""What was said of a picture, and what it comes to: outcomes, memory, counts, standing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final, NamedTuple

from drillhall.core.values.forms import Rendition
from drillhall.words import Said, say

NEITHER: Final = 0
"""What an answer of *neither* says, where a form's id would stand; no form has the id 0."""


class Sure(StrEnum):
    """How sure a learner is of an answer, in the words of record keeping."""

    CERTAIN = "certain"
    PROBABLE = "probable"
    POSSIBLE = "possible"

    @property
    def words(self) -> Said:
        """What a page calls it."""
        return SURE_WORDS[self]


SURE_WORDS: Final[dict[str, Said]] = {
    Sure.CERTAIN: say("certain"),
    Sure.PROBABLE: say("probable"),
    Sure.POSSIBLE: say("possible"),
}
"""The words of record keeping, by what is stored."""


class Outcome(StrEnum):
    """How a round went; the only thing the scheduler hears of it."""

    MISSED = "missed"
    UNSURE = "held, unsure"
    HELD = "held"
    EASE = "held with ease"

    @property
    def was_held(self) -> bool:
        """Whether every rated answer of the round was right."""
        return self is not Outcome.MISSED


class Standing(StrEnum):
    """Where a learner is with a pair."""

    UNMET = "unmet"
    SHAKY = "shaky"
    STEADY = "steady"
    FIELD_READY = "field-ready"

    @property
    def words(self) -> Said:
        """What a page calls it."""
        return _STANDING_WORDS[self]


_STANDING_WORDS: Final = {
    Standing.UNMET: say("unmet"),
    Standing.SHAKY: say("shaky"),
    Standing.STEADY: say("steady"),
    Standing.FIELD_READY: say("field-ready"),
}


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """What grading needs of one answer to the question which form it is, in the order given.

    `rated` is False for a third; `seconds` is the time from seeing the picture to the answer.
    """

    right: bool
    sure: Sure
    seconds: float
    hint: bool = False
    rated: bool = True


@dataclass(frozen=True, slots=True)
class Memory:
    """The scheduler's state of one learner for one pair.

    stability_days > 0: days until recall falls to 0.9; difficulty 1 to 10; last_day: local day of the last rated round;
    rounds: rated rounds so far; held_running: rated rounds held in a row up to now; last: outcome of the last one.
    """

    stability_days: float
    difficulty: float
    last_day: date
    rounds: int = 1
    held_running: int = 0
    last: Outcome = Outcome.HELD


@dataclass(frozen=True, slots=True)
class RatedRound:
    """What a fold of the memory needs of one rated round."""

    day: date
    outcome: Outcome


class Misses(NamedTuple):
    """How many showings were missed; decayed counts need not be whole."""

    missed: float = 0.0
    shown: float = 0.0


@dataclass(frozen=True, slots=True)
class TallyKey:
    """One cell of the tally of a learner and a pair.

    said: a form's id or NEITHER; week: ISO week of the local day as year * 100 + week; fresh: first sight, or not seen for 60 days.
    """

    shown_form_id: int
    said_form_id: int
    week: int
    fresh: bool
    prompted: bool
    rendition: Rendition
    orientation: str
    choices: int


@dataclass(frozen=True, slots=True)
class Interval:
    """A closed interval of a proportion, 0 <= low <= high <= 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Direction:
    """How well a learner tells one form of a pair from the other: counts, likely range and estimated rate of mix-up."""

    shown_form_id: int
    right: int
    shown: int
    fresh_right: int
    fresh_shown: int
    likely: Interval
    fresh_likely: Interval
    mixup_rate: float


class Counted(NamedTuple):
    """Answers given when one form of a pair was shown; `missed` and `kept` are decayed, and of showings with two choices alone."""

    right: int = 0
    shown: int = 0
    fresh_right: int = 0
    fresh_shown: int = 0
    missed: float = 0.0
    kept: float = 0.0


@dataclass(frozen=True, slots=True)
class FreshAnswer:
    """One fresh answer, for the standing: the form shown, whether it was right, its local day, the pair's rounds begun before it."""

    shown_form_id: int
    right: bool
    day: date
    rounds_before: int
