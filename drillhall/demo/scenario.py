"""Invents the demo's people: a field club and a school class on an estuary, what each of them can tell, and when they drilled.

Nobody and no place here is real. Plain values and pure functions: the clock comes as an argument, chance as dice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random
from types import MappingProxyType
from typing import Final

from drillhall.core.values import Form, Sure
from drillhall.demo.book import read_book
from drillhall.demo.painter.forms import form as words_of

CLUB: Final = "Vennick Estuary Field Club"
CLASS: Final = "Form Nine, Vennick Quay School"

WEEKS: Final = 6
"""How far back the histories reach."""

START: Final = {1: 0.68, 2: 0.60, 3: 0.54}
"""By stage of the pair, how often somebody of middling eye is right on the first pictures of it (invented)."""

CEILING: Final = {1: 0.99, 2: 0.97, 3: 0.94}
"""By stage, how often she will be right at last, well rested (invented)."""

PICTURES_TO_LEARN: Final = {1: 9.0, 2: 16.0, 3: 26.0}
"""By stage, the pictures after which two thirds of the way are gone (invented)."""

FADES_IN_DAYS: Final = 40.0
HARDEST: Final = 3
BREAK_AFTER: Final = 6  # days of drills, one a day, before the break of whoever has no zeal


@dataclass(frozen=True, slots=True)
class Invented:
    """One person of the demo: who she is in the hall, and how she learns.

    eye: 1 is middling, above it quick; began: days ago, 0 for not yet; zeal: chance of a drill on a given day, 0 for every
    day of one week and none after it; bold: -1 never dares to be certain, +1 always does; lean: favours the form that
    stands first (-1 to +1); knew: pictures' worth of the first stage that she brought along; group: the one she is in,
    leads: whether she leads it.
    """

    name: str
    part: str
    says: str
    is_keeper: bool = False
    eye: float = 1.0
    zeal: float = 0.0
    began: int = 0
    bold: float = 0.0
    lean: float = 0.0
    minutes: int = 3
    knew: int = 0
    group: str = ""
    leads: bool = False


PEOPLE: Final = (
    Invented("Corin Ashby-Vane", "learner in the club", "has not begun: see a first day as him", minutes=8, group=CLUB),
    Invented(
        "Nuala Teape",
        "learner in the club",
        "six weeks in, steady on most pairs",
        eye=1.9,
        zeal=0.7,
        began=41,
        bold=0.1,
        minutes=6,
        knew=60,
        group=CLUB,
    ),
    Invented(
        "Sorrel Maddick",
        "learner in the club",
        "four weeks in, slow to learn",
        eye=0.85,
        zeal=0.4,
        began=29,
        bold=-0.3,
        lean=0.5,
        group=CLUB,
    ),
    Invented("Idris Fenwell", "learner in the club", "certain too often", eye=0.8, zeal=0.5, began=24, bold=0.9, lean=-0.3, group=CLUB),
    Invented("Perpetua Lisle", "learner in the club", "back after four weeks away", eye=1.1, began=38, group=CLUB),
    Invented("Tobin", "learner in the class", "two weeks in", zeal=0.6, began=15, bold=0.3, lean=0.2, group=CLASS),
    Invented("Zaynab", "learner in the class", "quick, eight days in", eye=1.5, zeal=0.9, began=8, group=CLASS),
    *(
        Invented(name, "learner in the class", says, eye=eye, zeal=0.55, began=began, bold=bold, minutes=4, group=CLASS)
        for name, says, eye, began, bold in (
            ("Fenna", "three weeks in", 1.1, 20, 0.0),
            ("Jory", "three weeks in, needs help", 0.6, 19, 0.4),
            ("Amabel", "two weeks in", 1.3, 16, -0.2),
            ("Oswin", "two weeks in", 0.9, 15, 0.1),
        )
    ),
    Invented("Bram Ockley", f"teaches {CLASS}", "has tried a few drills himself", eye=1.2, zeal=0.3, began=14, group=CLASS, leads=True),
    Invented(
        "Hester Quarmby",
        f"leads the {CLUB}",
        "keeps this hall, wrote the catalogue",
        is_keeper=True,
        eye=1.9,
        zeal=0.25,
        began=30,
        knew=40,
        group=CLUB,
        leads=True,
    ),
)


CONFUSED: Final[Mapping[tuple[str, str], float]] = MappingProxyType(
    {
        ("Curlew Sandpiper", "Dunlin"): 0.75,
        ("Spotted Redshank", "Common Redshank"): 0.72,
        ("Sanderling", "Dunlin"): 0.70,
        ("Wood Sandpiper", "Green Sandpiper"): 0.67,
        ("Little Stint", "Temminck's Stint"): 0.65,
    }
)
"""What the whole class has got wrong, (shown, said) → how often: its poster shows these five in a light that hides what tells them."""

LETS_SEE: Final = frozenset({"Nuala Teape", "Sorrel Maddick"})
"""Who of the club lets its leader see her by name."""

OUTING: Final = "Low water at the lock"
MEET_AT: Final = "half past nine, the car park by the lock; we walk on the wall"
LESSON_WORDS: Final = "Bills first, then legs"
HERE_WORDS: Final = "Young stints pass through; plovers in winter dress"
"""What the club has planned."""

OFFERS: Final = "Nuala Teape"
"""Who has drawings of her own, and offers them to the catalogue."""

OFFERED: Final = (("dunlin_nonbreeding", 9100), ("sanderling_nonbreeding", 9101))
"""What she has drawn, beyond the drawings of the set: form and seed."""

SHARED: Final = 12
"""How many drawings whoever leads the club has shared with it."""


def list_days_ago(person: Invented, dice: Random) -> tuple[int, ...]:
    """Return how many days ago she drilled, the longest ago first; never today, so that today's drill is open."""
    if person.began <= 0:
        return ()
    if person.zeal <= 0:
        return tuple(range(person.began, person.began - BREAK_AFTER, -1))
    later = [day for day in range(person.began - 1, 0, -1) if dice.random() < person.zeal]
    return (person.began, *later)


def stage_of(first: Form, second: Form) -> int:
    """Return how hard a pair is (1 to 3) by the demo's own stages; a pair it does not know is of the hardest."""
    wanted = {_told(first), _told(second)}
    for pair in read_book().pairs:
        if {_told_of(key) for key in pair.forms} == wanted:
            return pair.stage
    return HARDEST


def _told(form: Form) -> tuple[str, str, str]:
    return form.name, form.life_stage, form.plumage


def _told_of(key: str) -> tuple[str, str, str]:
    words = words_of(key)
    return words["vernacularName"], words.get("lifeStage", ""), words.get("plumage", "")


def chance_right(person: Invented, stage: int, *, pictures: int, days_since: float, is_first: bool) -> float:
    """Return the chance (0 to 1) that she names a picture of a pair rightly.

    pictures: of the pair, seen so far; days_since: since she last saw one; is_first: whether the first form is shown.
    """
    start, ceiling = START[stage], CEILING[stage]
    behind_her = pictures + (person.knew if stage == 1 else 0)
    left = math.exp(-behind_her * person.eye / PICTURES_TO_LEARN[stage])
    faded = 1 / (1 + max(0.0, days_since - 1) / FADES_IN_DAYS)
    skill = start + (ceiling - start) * (1 - left) * faded
    tilt = 0.16 * person.lean * (1 if is_first else -1) * (1 - skill) / (1 - start)
    return max(0.02, min(0.995, skill + tilt))


def chance_of(person: Invented, shown: Form, other: Form, *, pictures: int, days_since: float, is_first: bool) -> float:
    """Return the chance that she names a picture of a pair rightly, what her class has got wrong included."""
    chance = chance_right(person, stage_of(shown, other), pictures=pictures, days_since=days_since, is_first=is_first)
    wrong = CONFUSED.get((shown.name, other.name), 0.0) if person.group == CLASS and not person.leads else 0.0
    return min(chance, 1 - wrong)


def chance_trait_right(person: Invented, stage: int, *, pictures: int) -> float:
    """Return the chance (0 to 1) that she sees the state of a trait rightly."""
    return min(0.97, 0.72 + 0.05 * person.eye + 0.012 * pictures - 0.04 * (stage - 1))


def how_sure(person: Invented, chance: float, *, is_right: bool, dice: Random) -> Sure:
    """Return how sure she says she is: by what she knows, by temper, and a little by being right."""
    felt = chance + 0.22 * person.bold + dice.gauss(0, 0.09) - (0.0 if is_right else 0.08)
    if felt > 0.90:
        return Sure.CERTAIN
    return Sure.PROBABLE if felt > 0.68 else Sure.POSSIBLE


def seconds_taken(chance: float, dice: Random) -> float:
    """Return how long she looks before she answers; the surer, the shorter."""
    return round(max(1.4, dice.lognormvariate(1.25, 0.42) * (1.9 - chance)), 1)


def wrong_choice(choices: Sequence[str], key: str, dice: Random) -> str:
    """Return one of the choices that is not the key."""
    return dice.choice([choice for choice in choices if choice != key])
