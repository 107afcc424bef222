"""The eve sheet: the pairs that a group will most likely mix up on its outing, each with what decides and what misleads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import Misses, directions, prior_rate, week_of
from drillhall.core.traits import TraitWorth, misleading, order_of_telling
from drillhall.core.values import Direction, Form, Pair, PairLore, TallyKey
from drillhall.practice.cautioning import banners_of, cautions_of
from drillhall.practice.group_log import FEWEST, GroupLog, the_group_log
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.outings import GroupOuting
from drillhall.practice.packets import PictureView
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.practice.reviewing import times_in_words
from drillhall.practice.views import picture_views
from drillhall.store.queries import leader as reading
from drillhall.store.queries import learner as hall_reading
from drillhall.words import Said, say

MOST_PAIRS: Final = 6
MOST_TRAITS: Final = 3
FEW_SHOWINGS: Final = 20
"""Of fewer pictures of a pair the sheet says that they are few; our own choice."""

NOBODY: Final = 0
"""Who looks at a sheet that is handed on: no account's own rights count."""


@dataclass(frozen=True, slots=True)
class Misled:
    """A trait that misleads: in which state the others show it too, and who they are."""

    trait: str
    state: str
    thirds: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class EvePair:
    """A pair on the sheet: how it is mixed up, in words; the traits that part it, the deciding one first; what misleads."""

    pair: Pair
    says: str
    is_few: bool
    shown: int
    missed: int
    traits: tuple[TraitWorth, ...]
    misleads: tuple[Misled, ...]
    first: PictureView | None
    second: PictureView | None


@dataclass(frozen=True, slots=True)
class EveSheet:
    """The sheet of an outing.

    `is_from_answers` False: fewer than five have answered, so nothing is told of them and the pairs stand in the set's order.
    `unmet` are pairs of which nobody has answered a picture; `more` counts pairs mixed up that found no room.
    """

    outing: GroupOuting
    pairs: tuple[EvePair, ...]
    is_from_answers: bool
    answers: int
    unmet: tuple[Pair, ...]
    more: int
    cautions: tuple[str, ...]
    banners: tuple[str, ...]
    list_names: tuple[str, ...]
    written_on: date


@dataclass(frozen=True, slots=True)
class _Mixed:
    """A pair with both its directions over the whole group."""

    row: reading.SetPair
    both: tuple[Direction, Direction]

    @property
    def rate(self) -> float:
        """How likely a mix-up is where either form is as likely to be met."""
        return (self.both[0].mixup_rate + self.both[1].mixup_rate) / 2

    @property
    def shown(self) -> int:
        return self.both[0].shown + self.both[1].shown

    @property
    def missed(self) -> int:
        return self.shown - self.both[0].right - self.both[1].right


def the_eve_sheet(db: Session, group_id: int, kind: str, outing: GroupOuting, *, today: date, reader: Reader = ANYBODY) -> EveSheet:
    """Return the sheet of an outing, from answers of those who are in the group now, given since each joined."""
    rows = reading.pairs_of_sets(db, [outing.pair_set_id]).get(outing.pair_set_id, [])
    ids = [row.id for row in rows]
    log = the_group_log(db, group_id, kind, ids)
    is_from_answers = sum(log.has_begun(learner, ids) for learner in log.learners) >= FEWEST
    mixed = _mixed_up(db, log, rows, today) if is_from_answers else []
    chosen = [one for one in mixed if one.missed] if is_from_answers else [_Mixed(row, _nothing(row, today)) for row in rows]
    catalogue_id = rows[0].catalogue_id if rows else 0
    lores = lore_of_pairs(db, catalogue_id, ids, reader=reader) if rows else {}
    pictures = _portraits(db, group_id, catalogue_id, [one.row for one in chosen[:MOST_PAIRS]], today)
    return EveSheet(
        outing=outing,
        pairs=tuple(_told(one, lores[one.row.id], pictures, is_from_answers) for one in chosen[:MOST_PAIRS]),
        is_from_answers=is_from_answers,
        answers=sum(one.shown for one in mixed),
        unmet=tuple(lores[one.row.id].pair for one in mixed if not one.shown),
        more=max(0, len(chosen) - MOST_PAIRS),
        cautions=cautions_of(db, [catalogue_id], "print"),
        banners=banners_of(db, [catalogue_id]),
        list_names=reading.list_names(db, [catalogue_id]),
        written_on=today,
    )


def _mixed_up(db: Session, log: GroupLog, rows: Sequence[reading.SetPair], today: date) -> list[_Mixed]:
    """Return every pair over the whole group, the likeliest to be mixed up first; rates lean on the group's and the hall's."""
    summed: dict[int, Counter[TallyKey]] = {row.id: Counter() for row in rows}
    for learner in log.learners:
        for row in rows:
            summed[row.id].update(log.of(learner, row.id).tally)
    since = week_of(today - timedelta(weeks=52))
    told = hall_reading.hall_misses(db, summed, since_week=since)
    hall = {cell: Misses(missed, shown) for cell, (missed, shown) in told.items()}
    everyone = Misses(sum(cell.missed for cell in hall.values()), sum(cell.shown for cell in hall.values()))
    two = [(key, count) for tally in summed.values() for key, count in tally.items() if key.choices == 2]
    own = Misses(sum(count for key, count in two if key.said_form_id != key.shown_form_id), sum(count for _, count in two))
    found = []
    for row in rows:
        forms = (row.first_form_id, row.second_form_id)
        prior = {form: prior_rate(own=own, pair=hall.get((row.id, form), Misses()), everyone=everyone) for form in forms}
        found.append(_Mixed(row, directions(forms, summed[row.id], week_now=week_of(today), prior=prior)))
    return sorted(found, key=lambda one: -one.rate)


def _nothing(row: reading.SetPair, today: date) -> tuple[Direction, Direction]:
    return directions((row.first_form_id, row.second_form_id), {}, week_now=week_of(today))


def _portraits(
    db: Session, group_id: int, catalogue_id: int, rows: Sequence[reading.SetPair], today: date
) -> Mapping[int, Sequence[tuple[PictureView, frozenset[str]]]]:
    """Return the portraits by form that may be handed on, each with the traits that are marked on it."""
    forms = {form_id for row in rows for form_id in (row.first_form_id, row.second_form_id)}
    stored = reading.portraits(db, group_id, catalogue_id=catalogue_id, form_ids=forms, on=today)
    views = picture_views(db, [row.id for row in stored], catalogue_id=catalogue_id, viewer_id=NOBODY, on=today)
    found: dict[int, list[tuple[PictureView, frozenset[str]]]] = {}
    for row in stored:
        if row.id in views and row.form_id is not None:
            found.setdefault(row.form_id, []).append((views[row.id], frozenset(views[row.id].marks)))
    return found


def _told(
    one: _Mixed, lore: PairLore, pictures: Mapping[int, Sequence[tuple[PictureView, frozenset[str]]]], is_from_answers: bool
) -> EvePair:
    pair = lore.pair
    traits = tuple(worth for worth in order_of_telling(lore) if worth.parts_them)[:MOST_TRAITS]
    key = traits[0].trait.key if traits else ""
    return EvePair(
        pair=pair,
        says=_says(pair, one.both) if is_from_answers else "",
        is_few=is_from_answers and one.shown < FEW_SHOWINGS,
        shown=one.shown,
        missed=one.missed,
        traits=traits,
        misleads=tuple(_misled(worth, lore) for worth in misleading(lore)),
        first=_picture(pictures.get(pair.first.id, ()), key),
        second=_picture(pictures.get(pair.second.id, ()), key),
    )


def _picture(pictures: Sequence[tuple[PictureView, frozenset[str]]], trait: str) -> PictureView | None:
    """Return a portrait on which the deciding trait is marked, else any."""
    marked = [view for view, marks in pictures if trait in marks]
    return next(iter(marked or [view for view, _ in pictures]), None)


def _misled(worth: TraitWorth, lore: PairLore) -> Misled:
    forms = lore.forms
    return Misled(worth.trait.label, worth.first_state.label, tuple(forms[third] for third in worth.third_ids if third in forms))


def _says(pair: Pair, both: tuple[Direction, Direction]) -> Said:
    """Say which way round the group mixes a pair up, and how often."""
    rates = [direction.mixup_rate for direction in both]
    if max(rates) < 1.5 * min(rates) or pair.first.name == pair.second.name:
        return say("both ways, {often}", often=times_in_words(sum(rates) / 2))
    shown, said = (pair.first, pair.second) if rates[0] > rates[1] else (pair.second, pair.first)
    often, seldom = times_in_words(max(rates)), times_in_words(min(rates))
    return say("{shown} is called {said} {often}; the other way {seldom}", shown=shown.name, said=said.name, often=often, seldom=seldom)
