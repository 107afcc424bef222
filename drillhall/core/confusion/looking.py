"""Tells whether looking or knowing fails: what was seen of a trait, against what was then said of the form on the same picture."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from drillhall.core.confusion.proportions import wilson

ENOUGH_MISSED: Final = 8
"""Of fewer misnamed pictures nothing is said; our own choice."""


class Failing(StrEnum):
    """What fails where a form is misnamed."""

    LOOKING = "looking"
    KNOWING = "knowing"
    BOTH = "both"
    TOO_FEW = "too few"


@dataclass(frozen=True, slots=True)
class Prompted:
    """Pictures of which a trait and the form were asked, by what was right: both, the trait alone, the form alone, neither of them."""

    both: int = 0
    trait_alone: int = 0
    form_alone: int = 0
    none: int = 0

    def __add__(self, other: Prompted) -> Prompted:
        """Put the counts together."""
        return Prompted(
            self.both + other.both, self.trait_alone + other.trait_alone, self.form_alone + other.form_alone, self.none + other.none
        )

    @property
    def misnamed(self) -> int:
        """Pictures whose form was missed."""
        return self.trait_alone + self.none

    @property
    def asked(self) -> int:
        """Pictures in all."""
        return self.both + self.trait_alone + self.form_alone + self.none


def what_fails(counts: Prompted) -> Failing:
    """Say what fails: *knowing* where the trait was mostly seen rightly and the form misnamed all the same, *looking* where it was not.

    Parameters
    ----------
    counts : pictures of which a trait and the form were asked.

    Returns
    -------
    Failing: *both* where neither side clearly prevails among the misnamed, *too few* below eight of them.

    Source
    ------
    Our own rule: the share seen rightly among the misnamed, by whether its Wilson 95 % interval lies wholly over or under one half.

    >>> what_fails(Prompted(both=30, trait_alone=14, form_alone=2, none=3)).value
    'knowing'
    """
    if counts.misnamed < ENOUGH_MISSED:
        return Failing.TOO_FEW
    likely = wilson(counts.trait_alone, counts.misnamed)
    if likely.low > 0.5:
        return Failing.KNOWING
    return Failing.LOOKING if likely.high < 0.5 else Failing.BOTH
