"""Lays what a group mixes up side by side: by sex, age, pose and so on, each choice in a column of its own."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

from sqlalchemy.orm import Session

from drillhall.core import term_words
from drillhall.core.confusion import week_of, wilson
from drillhall.core.terms import ORIENTATIONS
from drillhall.core.values import Form, Interval
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.practice.weak_spots import counting
from drillhall.practice.weak_spots.counting import Choices, Chosen, Given
from drillhall.practice.weak_spots.lessons import HALF
from drillhall.practice.weak_spots.naming import RENDITIONS, Finer, forms_named, in_pairs, told_finer
from drillhall.practice.weak_spots.seeing import Seen, who_is_seen
from drillhall.practice.weak_spots.spots import directions_of
from drillhall.practice.weak_spots.veiled import Veil, the_veil
from drillhall.words import Said, say

WEEKS: Final = "weeks"
BY: Final[Mapping[str, Said]] = {
    "sex": say("sex shown"),
    "life_stage": say("age shown"),
    "orientation": say("side seen"),
    "pose": say("pose"),
    "rendition": say("way it was shown"),
    "stage": say("stage"),
    "assignment": say("pair set"),
    WEEKS: say("the last four weeks and the four before"),
}
"""What may be laid side by side, in words."""

MOST_ROWS: Final = 16

Counts = dict[tuple[int, int], tuple[int, int]]
"""(missed, shown) by pair and form shown."""


@dataclass(frozen=True, slots=True)
class Share:
    """How often something was missed, of how many; nothing was shown where `shown` is 0."""

    missed: int
    shown: int

    @property
    def likely(self) -> Interval:
        """Where the true share is likely to lie."""
        return wilson(self.missed, self.shown)


@dataclass(frozen=True, slots=True)
class BesideLine:
    """A form shown, what it is missed for, and a share for each column."""

    shown: Form
    said: Form
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """Columns by their words, all forms together, and the forms missed most.

    finer: what tells forms apart that bear one name; named_alone: those not seen by name are left out.
    """

    by: str
    columns: tuple[str, ...]
    together: tuple[Share, ...]
    lines: tuple[BesideLine, ...]
    finer: Mapping[int, Finer]
    named_alone: bool


def the_beside(db: Session, group_id: int, role: str, by: str, *, today: date, reader: Reader = ANYBODY) -> Beside:
    """Return what a group mixes up, side by side, as somebody in a role sees it; columns without an answer are left out."""
    seen, given = who_is_seen(db, group_id, role), counting.the_given(db, group_id, Chosen())
    if not given.pairs:
        return Beside(by, (), (), (), {}, named_alone=False)
    if by == WEEKS:
        counted = _by_weeks(db, group_id, seen, given, today)
    else:
        veil = the_veil(db, group_id, list(given.pairs), today=today) if seen.others else None
        choices = _values(by, counting.the_choices(db, given))
        counted = [(word, _counts(db, group_id, seen, _asked(by, value), veil)) for value, word in choices]
    kept = [(word, counts) for word, counts in counted if counts]
    splits = by == WEEKS or _asked(by, "any").splits_answers
    forms = forms_named(db, given.rows, reader)
    return Beside(
        by=by,
        columns=tuple(word for word, _ in kept),
        together=tuple(_sum(counts.values()) for _, counts in kept),
        lines=_lines([counts for _, counts in kept], given, forms),
        finer=told_finer(forms.values()),
        named_alone=bool(seen.others) and splits,
    )


def _asked(by: str, value: Any) -> Chosen:
    return replace(Chosen(), **{"assignment_id" if by == "assignment" else by: value})


def _values(by: str, choices: Choices) -> tuple[tuple[Any, str], ...]:
    """Return (value, word) of what is laid side by side."""
    if by in ("stage", "assignment"):
        return choices.stages if by == "stage" else choices.assignments
    return {
        "sex": in_pairs(choices.sexes, term_words.SEXES),
        "life_stage": in_pairs(choices.life_stages, term_words.LIFE_STAGES),
        "pose": in_pairs(choices.poses, term_words.POSES),
        "orientation": in_pairs(ORIENTATIONS, term_words.ORIENTATIONS),
        "rendition": tuple(RENDITIONS.items()),
    }[by]


def _counts(db: Session, group_id: int, seen: Seen, chosen: Chosen, veil: Veil | None) -> Counts:
    given = counting.the_given(db, group_id, chosen)
    counted = counting.count(db, group_id, seen, given, chosen, veil=veil)
    return {(one.pair_id, one.form_id): (one.missed, one.shown) for one in directions_of(counted, given.pairs)}


def _by_weeks(db: Session, group_id: int, seen: Seen, given: Given, today: date) -> list[tuple[str, Counts]]:
    """Return counts of those seen by name: of the latest four weeks, this one included, and of the four before."""
    rows = counting.count_weeks(db, group_id, seen.named, list(given.pairs), today=today)
    late, early = (week_of(today - timedelta(weeks=weeks)) for weeks in (HALF - 1, 2 * HALF - 1))
    told: list[tuple[str, Counts]] = [(say("the four weeks before"), {}), (say("the last four weeks"), {})]
    for row in rows:
        if row.week >= early:
            counts = told[row.week >= late][1]
            missed, shown = counts.get((row.pair_id, row.shown_form_id), (0, 0))
            wrong = row.times if row.said_form_id != row.shown_form_id else 0
            counts[row.pair_id, row.shown_form_id] = (missed + wrong, shown + row.times)
    return told


def _lines(columns: Collection[Counts], given: Given, forms: Mapping[int, Form]) -> tuple[BesideLine, ...]:
    """Return the forms missed most over all columns, by the number of misses."""
    every = {key for counts in columns for key in counts}
    missed = {key: sum(counts.get(key, (0, 0))[0] for counts in columns) for key in every}
    found = []
    for pair_id, form_id in sorted((key for key in every if missed[key]), key=lambda key: (-missed[key], key))[:MOST_ROWS]:
        pair = given.pairs[pair_id]
        if form_id in (pair.first_form_id, pair.second_form_id):
            other = pair.second_form_id if form_id == pair.first_form_id else pair.first_form_id
            shares = tuple(Share(*counts.get((pair_id, form_id), (0, 0))) for counts in columns)
            found.append(BesideLine(forms[form_id], forms[other], shares))
    return tuple(found)


def _sum(counts: Collection[tuple[int, int]]) -> Share:
    return Share(sum(missed for missed, _ in counts), sum(shown for _, shown in counts))
