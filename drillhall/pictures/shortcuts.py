"""Asks whether something other than the organism tells two forms' pictures apart: learners would learn that instead.

For one circumstance at a time (brightness, colour, sharpness, and whatever words and numbers the caller adds: setting,
photographer, orientation, date, size) every picture of the first form is matched with every one of the second. Both are
left out, a plain rule is made from all others, and the rule is asked which of the two is the first form's. The share of
matches that it gets right, ties counting half, is the area under the curve by leave-pair-out cross-validation; 0.5 is
chance, and above ALARM the steward is to be warned.

Source: A. Airola et al. 2011, An experimental comparison of cross-validation techniques for estimating the area under
the ROC curve (from memory). The rules are ours: for a number, which form's mean is higher; for a word, which form has it
more often. They do not see a form that lies on both sides of the other. What is dealt out evenly comes to less than half,
since the picture left out is then missed on its own side; a strong shortcut comes to what it is in the whole sample.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import fmean
from typing import Final, TypeVar

from PIL import Image, ImageChops, ImageFilter, ImageStat

T = TypeVar("T")

ALARM: Final = 0.8
"""From above this area on a circumstance gives the form away (common practice, no source)."""

LEAST: Final = 3
"""With fewer pictures than this on a side there is nothing to make a rule from."""

WIDE_PX: Final = 480
"""Pictures are measured at this width, so that their own size does not count as sharpness."""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What is known of one picture beside the form it shows: numbers by name, and words by name."""

    numbers: Mapping[str, float] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Shortcut:
    """One circumstance, and how often it gives the form away (0 to 1; 0.5 is chance)."""

    what: str
    area: float

    @property
    def is_alarming(self) -> bool:
        """Return whether a steward is to be warned."""
        return self.area > ALARM


def measure_look(image: Image.Image) -> dict[str, float]:
    """Measure a picture as a whole: brightness, red against green, blue against yellow, sharpness, all in levels (0 to 255)."""
    small = image.convert("RGB").resize((WIDE_PX, max(1, round(image.height * WIDE_PX / image.width))), Image.Resampling.BOX)
    red, green, blue = ImageStat.Stat(small).mean
    grey = small.convert("L")
    fine = ImageChops.difference(grey, grey.filter(ImageFilter.GaussianBlur(1.5)))
    return {
        "brightness": ImageStat.Stat(grey).mean[0],
        "red against green": red - green,
        "blue against yellow": blue - (red + green) / 2,
        "sharpness": ImageStat.Stat(fine).mean[0],
    }


def find_shortcuts(firsts: Sequence[Circumstances], seconds: Sequence[Circumstances]) -> tuple[Shortcut, ...]:
    """Judge every circumstance that all pictures of both forms have, the most telling first.

    Empty where a form has fewer than three pictures.
    """
    if min(len(firsts), len(seconds)) < LEAST:
        return ()
    everything = [*firsts, *seconds]
    found = []
    for name in everything[0].numbers:
        if all(name in one.numbers for one in everything):
            found.append(Shortcut(name, number_area([one.numbers[name] for one in firsts], [one.numbers[name] for one in seconds])))
    for name in everything[0].words:
        if all(name in one.words for one in everything):
            found.append(Shortcut(name, word_area([one.words[name] for one in firsts], [one.words[name] for one in seconds])))
    return tuple(sorted(found, key=lambda shortcut: -shortcut.area))


def number_area(firsts: Sequence[float], seconds: Sequence[float]) -> float:
    """Return how often a number tells which picture is the first form's (0 to 1).

    >>> number_area([5.0, 6.0, 7.0], [1.0, 2.0, 3.0])
    1.0
    """
    total_first, total_second = sum(firsts), sum(seconds)

    def votes(first: float, second: float) -> float:
        higher = (total_first - first) / (len(firsts) - 1) - (total_second - second) / (len(seconds) - 1)
        return higher * (first - second)

    return _share_right(firsts, seconds, votes)


def word_area(firsts: Sequence[str], seconds: Sequence[str]) -> float:
    """Return how often a word tells which picture is the first form's (0 to 1); the same word on both is a tie.

    >>> word_area(["mud", "mud", "mud", "reeds"], ["reeds", "reeds", "reeds", "mud"])
    0.75
    """
    of_first, of_second = Counter(firsts), Counter(seconds)

    def lean(word: str, first: str, second: str) -> float:
        """Return how much more often the first form has a word, both pictures left out."""
        here = (of_first[word] - (word == first)) / (len(firsts) - 1)
        return here - (of_second[word] - (word == second)) / (len(seconds) - 1)

    return _share_right(firsts, seconds, lambda first, second: lean(first, first, second) - lean(second, first, second))


def _share_right(firsts: Sequence[T], seconds: Sequence[T], votes: Callable[[T, T], float]) -> float:
    """Return the share of matches in which the vote is positive; a vote of nought is half a match."""
    cast = [votes(first, second) for first in firsts for second in seconds]
    return fmean(1.0 if vote > 0 else 0.5 if vote == 0 else 0.0 for vote in cast)
