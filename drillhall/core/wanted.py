"""What pictures of each form are still wanted, and which are wanted most: one rule for a folder and for a catalogue in use.

A form is learnt by heart from too few pictures, has no portrait to stand for it, cannot be tested without held-out ones; and where
only one form of a pair is ever seen from the left, on mud or far away, that gives the answer away.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from drillhall.core.values import Use

FEW: Final = 10
"""Fewer practice pictures of a form are learnt by heart."""

AIM: Final = 20
PORTRAITS: Final = 3
HELD_OUT: Final = 4
"""With so many a form is asked twice in each of two tests, on pictures that nobody has met (common practice, no source)."""

VIEWS: Final = ("orientation", "pose", "plumage", "setting")
"""What is said of how a picture was taken, in the order of asking for it."""


@dataclass(frozen=True, slots=True)
class Held:
    """Pictures that are there already: their form, their use, how they were taken by the names in VIEWS ("" is not said), how many."""

    form: str
    use: str
    views: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    count: int = 1


@dataclass(frozen=True, slots=True)
class Drilled:
    """How often a pair was shown in drills, and how often it was mixed up."""

    missed: int = 0
    shown: int = 0


@dataclass(frozen=True, slots=True)
class ViewWanted:
    """Views in which a form is not seen in practice and the other of its pair is."""

    form: str
    view: str
    words: tuple[str, ...]
    other: str


@dataclass(frozen=True, slots=True)
class FormWanted:
    """What is wanted of a form: how many pictures it has for each use, the views it lacks, and its pairs' drills."""

    form: str
    practice: int
    portraits: int
    held_out: int
    views: tuple[ViewWanted, ...] = ()
    drilled: Drilled = Drilled()

    @property
    def practice_wanted(self) -> int:
        """How many practice pictures are lacking up to AIM."""
        return max(0, AIM - self.practice)

    @property
    def portraits_wanted(self) -> int:
        """How many portraits are lacking."""
        return max(0, PORTRAITS - self.portraits)

    @property
    def held_out_wanted(self) -> int:
        """How many held-out pictures are lacking."""
        return max(0, HELD_OUT - self.held_out)

    @property
    def is_few(self) -> bool:
        """Whether its practice pictures are so few that they are learnt by heart."""
        return self.practice < FEW

    @property
    def is_complete(self) -> bool:
        """Whether nothing is wanted."""
        return not (self.practice_wanted or self.portraits_wanted or self.held_out_wanted or self.views)


def wanted_of(
    forms: Sequence[str],
    pairs: Sequence[tuple[str, str]],
    pictures: Iterable[Held],
    *,
    drilled: Mapping[tuple[str, str], Drilled] | None = None,
) -> tuple[FormWanted, ...]:
    """Return what is wanted of each form, in the order of `forms`; a form that lacks nothing is there too.

    Examples
    --------
    >>> [wanted] = wanted_of(["dunlin"], [], [Held("dunlin", "practice")] * 18)
    >>> wanted.practice_wanted, wanted.portraits_wanted, wanted.is_few
    (2, 3, False)
    """
    held = list(pictures)
    counts: Counter[tuple[str, str]] = Counter()
    for picture in held:
        counts[picture.form, picture.use] += picture.count
    lacking: dict[str, list[ViewWanted]] = defaultdict(list)
    for view in views_wanted(pairs, held):
        lacking[view.form].append(view)
    turns: dict[str, Drilled] = {}
    for pair, one in (drilled or {}).items():
        for form in pair:
            before = turns.get(form, Drilled())
            turns[form] = Drilled(before.missed + one.missed, before.shown + one.shown)
    return tuple(
        FormWanted(
            form=form,
            practice=counts[form, Use.PRACTICE],
            portraits=counts[form, Use.PORTRAIT],
            held_out=counts[form, Use.HELD_OUT],
            views=tuple(lacking[form]),
            drilled=turns.get(form, Drilled()),
        )
        for form in forms
    )


def views_wanted(pairs: Sequence[tuple[str, str]], pictures: Iterable[Held]) -> Iterator[ViewWanted]:
    """Yield the views that only one form of a pair is seen in, pair by pair; each form lacks it towards that other one."""
    seen: dict[tuple[str, str], set[str]] = defaultdict(set)
    for picture in pictures:
        if picture.use == Use.PRACTICE:
            for view in VIEWS:
                if word := picture.views.get(view, ""):
                    seen[picture.form, view].add(word)
    for pair in pairs:
        for form, other in (pair, pair[::-1]):
            for view in VIEWS:
                # A form's own plumage is part of what it is; only where both are said of does one lack a plumage of the other.
                if view == "plumage" and not seen[form, view]:
                    continue
                if lacking := sorted(seen[other, view] - seen[form, view]):
                    yield ViewWanted(form, view, tuple(lacking), other)


def most_needed_first(wanted: Iterable[FormWanted]) -> tuple[FormWanted, ...]:
    """Return the forms that lack something, in the order in which a new picture helps.

    A form without any practice picture first, since its pairs cannot be drilled; then where the pairs are mixed up most often, then
    where they are drilled most, then where most is lacking.
    """

    def need(one: FormWanted) -> tuple[bool, int, int, int]:
        views = {(view.view, word) for view in one.views for word in view.words}
        lacking = one.practice_wanted + one.portraits_wanted + one.held_out_wanted + len(views)
        return (one.practice > 0, -one.drilled.missed, -one.drilled.shown, -lacking)

    return tuple(sorted((one for one in wanted if not one.is_complete), key=need))
