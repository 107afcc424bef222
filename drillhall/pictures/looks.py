"""Measures the pictures of a pair and asks what beside the organism tells its two forms apart.

Nothing is kept: a picture's look is measured from its smallest stored size when a steward opens the page of one pair, at most
MOST_MEASURED a form, which takes about a second. What would be kept would have to be kept right when pictures come, go and are cut
anew, for a page that is opened now and then.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from statistics import fmean
from types import MappingProxyType
from typing import Final

from PIL import Image
from sqlalchemy.orm import Session

from drillhall.core.term_words import ORIENTATIONS, POSES, SETTINGS, in_words
from drillhall.core.values import Form, Use
from drillhall.errors import NotFound
from drillhall.pictures.shortcuts import LEAST, Circumstances, Shortcut, find_shortcuts, measure_look
from drillhall.pictures.storage import Storage
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.queries import curating as reading
from drillhall.store.queries import pictures as queries
from drillhall.store.queries.curating import DrilledPair
from drillhall.words import Said, say

MOST_MEASURED: Final = 40

WORDS: Final = ("setting", "photographer", "orientation", "pose", "day")
CIRCUMSTANCES: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "setting": say("setting"),
        "photographer": say("photographer"),
        "orientation": say("orientation"),
        "pose": say("pose"),
        "day": say("day"),
        "brightness": say("brightness"),
        "red against green": say("red against green"),
        "blue against yellow": say("blue against yellow"),
        "sharpness": say("sharpness"),
        "size": say("size"),
    }
)
"""What may tell two forms apart, by its name in a finding, in words."""

COMPARED: Final[Mapping[str, tuple[Said, Said]]] = MappingProxyType(
    {
        "brightness": (say("brighter"), say("darker")),
        "red against green": (say("redder"), say("greener")),
        "blue against yellow": (say("bluer"), say("yellower")),
        "sharpness": (say("sharper"), say("softer")),
        "size": (say("larger"), say("smaller")),
    }
)
"""What is said of pictures with more and with less of a number."""

_TERMS: Final = {"setting": SETTINGS, "pose": POSES, "orientation": ORIENTATIONS}


@dataclass(frozen=True, slots=True)
class Look:
    """What is known of one picture beside its form: numbers and words by name; a word that nobody has said is left out."""

    numbers: dict[str, float]
    words: dict[str, str]


@dataclass(frozen=True, slots=True)
class NamedPair:
    """A pair of a catalogue with its forms, and how many practice pictures there are of each."""

    drilled: DrilledPair
    first: Form
    second: Form
    of_first: int
    of_second: int


@dataclass(frozen=True, slots=True)
class Finding:
    """How often one circumstance tells the two forms apart, and how it lies.

    `word` is the one that lies most unevenly, with how many pictures of each form have it; for a number it is "", and the two means
    are told instead.
    """

    shortcut: Shortcut
    counts: tuple[int, int]
    word: str = ""
    having: tuple[int, int] = (0, 0)
    means: tuple[float, float] = (0.0, 0.0)

    @property
    def what(self) -> Said:
        """Which circumstance it is, in words."""
        return CIRCUMSTANCES[self.shortcut.what]

    @property
    def more(self) -> Said:
        """How pictures are that have more of it; numbers alone have that."""
        return COMPARED[self.shortcut.what][0]

    @property
    def less(self) -> Said:
        """How pictures are that have less of it."""
        return COMPARED[self.shortcut.what][1]

    @property
    def word_told(self) -> str:
        """The word that lies most unevenly, as somebody reads it."""
        return in_words(self.word, _TERMS.get(self.shortcut.what, {}))


@dataclass(frozen=True, slots=True)
class PairLooks:
    """What was found for a pair: the pictures measured of each form, and the findings, the most telling first."""

    first: int
    second: int
    findings: tuple[Finding, ...]

    @property
    def is_enough(self) -> bool:
        """Whether there are pictures enough of both forms to ask."""
        return min(self.first, self.second) >= LEAST

    @property
    def alarming(self) -> tuple[Finding, ...]:
        """The findings to warn of."""
        return tuple(one for one in self.findings if one.shortcut.is_alarming)


def looks_of_pair(db: Session, storage: Storage, catalogue_id: int, account_id: int, pair: DrilledPair, *, on: date) -> PairLooks:
    """Measure the practice pictures of a pair that a steward may be shown, and judge every circumstance."""
    sides = [_looks(db, storage, catalogue_id, account_id, form_id, on) for form_id in (pair.first_form_id, pair.second_form_id)]
    return PairLooks(len(sides[0]), len(sides[1]), judge(sides[0], sides[1]))


def list_pairs(db: Session, catalogue_id: int, *, on: date) -> tuple[NamedPair, ...]:
    """Return the pairs of a catalogue in its order, with how many practice pictures each form has that others are shown."""
    forms, counts = reading.forms_of(db, catalogue_id), Counter[int]()
    for form_id, use, *_, count in reading.held_views(db, catalogue_id, on=on):
        if use == Use.PRACTICE:
            counts[form_id] += count
    return tuple(
        NamedPair(pair, forms[pair.first_form_id], forms[pair.second_form_id], counts[pair.first_form_id], counts[pair.second_form_id])
        for pair in reading.pairs_of(db, catalogue_id)
        if pair.first_form_id in forms and pair.second_form_id in forms
    )


def the_pair(db: Session, catalogue_id: int, pair_id: int, *, on: date) -> NamedPair:
    """Return a pair of a catalogue, or raise NotFound."""
    for named in list_pairs(db, catalogue_id, on=on):
        if named.drilled.id == pair_id:
            return named
    raise NotFound(say("There is no such pair in this catalogue."))


def judge(firsts: Sequence[Look], seconds: Sequence[Look]) -> tuple[Finding, ...]:
    """Judge every circumstance of two forms' pictures by those pictures that say it, the most telling first."""
    found = [
        Finding(shortcut, (len(firsts), len(seconds)), means=_means(firsts, seconds, shortcut.what))
        for shortcut in find_shortcuts(
            [Circumstances(numbers=one.numbers) for one in firsts], [Circumstances(one.numbers) for one in seconds]
        )
    ]
    for name in WORDS:
        here, there = ([one.words[name] for one in side if name in one.words] for side in (firsts, seconds))
        for shortcut in find_shortcuts(
            [Circumstances(words={name: word}) for word in here], [Circumstances(words={name: w}) for w in there]
        ):
            word = _most_uneven(here, there)
            found.append(Finding(shortcut, (len(here), len(there)), word, (here.count(word), there.count(word))))
    return tuple(sorted(found, key=lambda finding: -finding.shortcut.area))


def _looks(db: Session, storage: Storage, catalogue_id: int, account_id: int, form_id: int, on: date) -> list[Look]:
    which = (PictureRow.form_id == form_id) & (PictureRow.use == Use.PRACTICE.value)
    rows = reading.accepted_rows(db, catalogue_id, account_id, on=on, which=which)
    rows = rows[:: max(1, -(-len(rows) // MOST_MEASURED))]  # evenly over all of them, since those of one day were added together
    files = queries.served_files(db, [picture.id for picture, _, _, _ in rows])
    looks = []
    for picture, rights, _, _ in rows:
        plain = [file for file in files.get(picture.id, []) if file.rendition == "as taken"]
        if plain:
            looks.append(_look(picture, rights, storage.get(plain[0].storage_key)))
    return looks


def _look(picture: PictureRow, rights: RightsRow, content: bytes) -> Look:
    with Image.open(BytesIO(content)) as image:
        numbers = measure_look(image)
    numbers["size"] = float(max(picture.width_px, picture.height_px))
    day = picture.taken_on.isoformat() if picture.taken_on else ""
    said = (picture.setting, rights.creator, picture.orientation, picture.pose, day)
    return Look(numbers, {name: word for name, word in zip(WORDS, said, strict=True) if word})


def _means(firsts: Sequence[Look], seconds: Sequence[Look], name: str) -> tuple[float, float]:
    return fmean(one.numbers[name] for one in firsts), fmean(one.numbers[name] for one in seconds)


def _most_uneven(here: Sequence[str], there: Sequence[str]) -> str:
    """Return the word whose shares among two forms' pictures differ most."""
    of_here, of_there = Counter(here), Counter(there)
    return max(sorted({*here, *there}), key=lambda word: abs(of_here[word] / len(here) - of_there[word] / len(there)))
