"""The running account of what the audience of a group's open questions mixes up: over all of them, and lately."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import wilson
from drillhall.core.values import Form, Interval, PairLore
from drillhall.practice.lore import lore_of_pairs
from drillhall.store.queries import open_questions as reading

LATELY: Final = timedelta(days=28)


@dataclass(frozen=True, slots=True)
class Mixup:
    """A form shown and the other that it was called: of `shown` answers `times`, the likely range, and the same of the last 28 days."""

    shown_form: Form
    said: Form
    times: int
    shown: int
    likely: Interval
    times_lately: int
    shown_lately: int


@dataclass(frozen=True, slots=True)
class Account:
    """What an audience mixes up, the most likely first; `answers` is how many there were, since `first_day`."""

    mixups: tuple[Mixup, ...]
    answers: int
    first_day: date | None


def the_account(db: Session, group_id: int, *, at: datetime) -> Account:
    """Return the running account of a group's questions, those asked no more included.

    Every answer is judged by the form that its picture is said to show now; those to a picture that shows neither of its pair
    any more count nowhere.
    """
    questions = reading.questions_of_group(db, group_id)
    catalogue_of = {question.id: pair_set.catalogue_id for question, _, pair_set in questions}
    said = reading.all_answers(db, list(catalogue_of))
    lores = _lores(db, said, catalogue_of)
    since = at.date() - LATELY
    every: dict[tuple[int, int], Counter[int]] = defaultdict(Counter)
    lately: dict[tuple[int, int], Counter[int]] = defaultdict(Counter)
    for one in said:
        lore = lores.get(one.pair_id)
        if lore is not None and one.form_id in (lore.pair.first.id, lore.pair.second.id):
            every[(one.pair_id, one.form_id)][one.said_form_id] += one.times
            if one.day > since:
                lately[(one.pair_id, one.form_id)][one.said_form_id] += one.times
    found = [_mixup(lores[cell[0]], cell[1], counted, lately[cell]) for cell, counted in every.items()]
    ordered = sorted(found, key=lambda one: (-one.likely.low, -one.shown, one.shown_form.id))
    return Account(tuple(ordered), sum(one.shown for one in found), said[0].day if said else None)


def _lores(db: Session, said: Sequence[reading.Said], catalogue_of: Mapping[int, int]) -> dict[int, PairLore]:
    """Return the lore of every pair that was asked, each from a catalogue whose question asked it."""
    pairs: dict[int, set[int]] = defaultdict(set)
    for one in said:
        pairs[catalogue_of[one.question_id]].add(one.pair_id)
    return {pair_id: lore for catalogue_id, ids in pairs.items() for pair_id, lore in lore_of_pairs(db, catalogue_id, ids).items()}


def _mixup(lore: PairLore, form_id: int, counted: Counter[int], lately: Counter[int]) -> Mixup:
    pair = lore.pair
    other = pair.other(form_id)
    shown, shown_lately = (count[form_id] + count[other.id] for count in (counted, lately))
    times, times_lately = counted[other.id], lately[other.id]
    return Mixup(pair.form(form_id), other, times, shown, wilson(times, shown), times_lately, shown_lately)
