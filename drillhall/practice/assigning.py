"""Assigning: a pair set is given to a group, from a day, for a day where there is one, at a target recall."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.memory import HIGHEST_TARGET, LOWEST_TARGET
from drillhall.core.stages import StagePictures, can_ask
from drillhall.core.values import Form
from drillhall.errors import AlreadyDone, Conflict, Invalid, NotFound
from drillhall.practice.at_hand import AtHand, pictures_at_hand
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.shelf import the_set
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.queries import leader as reading
from drillhall.store.queries.learner import Look
from drillhall.words import say

MOST_AHEAD: Final = timedelta(days=730)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a leader asks for; `target_recall` None leaves each learner her own."""

    pair_set_id: int
    from_day: date
    for_day: date | None = None
    target_recall: float | None = None


@dataclass(frozen=True, slots=True)
class Assignment:
    """An assignment as its group sees it; `ended_at` is when it was taken back."""

    id: int
    pair_set_id: int
    title: str
    catalogue: str
    pairs: int
    from_day: date
    for_day: date | None
    target_recall: float | None
    ended_at: datetime | None


def list_assignments(db: Session, group_id: int, *, ended: bool = False) -> tuple[Assignment, ...]:
    """Return a group's assignments, the nearest date first; with `ended`, those taken back as well, at the end."""
    rows = [found for found in reading.assignments(db, group_id) if ended or found[0].retired_at is None]
    pairs = reading.pairs_of_sets(db, {row.pair_set_id for row, _, _ in rows})
    return tuple(
        Assignment(
            id=row.id,
            pair_set_id=row.pair_set_id,
            title=pair_set.title,
            catalogue=catalogue.title,
            pairs=len(pairs.get(row.pair_set_id, ())),
            from_day=row.from_day,
            for_day=row.for_day,
            target_recall=row.target_recall,
            ended_at=row.retired_at,
        )
        for row, pair_set, catalogue in rows
    )


def the_assignment(db: Session, group_id: int, assignment_id: int) -> Assignment:
    """Return an assignment of a group, taken back or not, or raise NotFound."""
    for one in list_assignments(db, group_id, ended=True):
        if one.id == assignment_id:
            return one
    raise NotFound(say("There is no such assignment of this group."))


def assign(db: Session, group_id: int, wanted: Wanted, *, by: int, today: date, at: datetime) -> int:
    """Give a pair set to a group and return the assignment's id; `by` is the account, `today` her local day.

    Raises Invalid for days the wrong way round or a target out of range, NotFound for a set that is on no shelf, Conflict where
    the group has it already or none of its pairs has pictures that the group may be shown.
    """
    _refuse_odd(wanted, today)
    the_set(db, wanted.pair_set_id)
    db.execute(select(GroupRow.id).where(GroupRow.id == group_id).with_for_update())  # of two who assign at once, one hears of it
    if any(one.pair_set_id == wanted.pair_set_id for one in list_assignments(db, group_id)):
        raise AlreadyDone(say("The group has this pair set already. End that assignment first."))
    if not drillable_pairs(db, group_id, wanted.pair_set_id, on=today):
        raise Conflict(
            say("Of no pair of this set the group may be shown both forms yet. Share pictures with the group first; then give it.")
        )
    row = AssignmentRow(
        group_id=group_id,
        pair_set_id=wanted.pair_set_id,
        from_day=wanted.from_day,
        for_day=wanted.for_day,
        target_recall=wanted.target_recall,
        made_by=by,
        made_at=at,
    )
    db.add(row)
    db.flush()
    return row.id


def end_assignment(db: Session, group_id: int, assignment_id: int, *, at: datetime) -> None:
    """Take an assignment back: its pairs are drilled no more by those who have not taken the set; what was learnt stays."""
    row = db.get(AssignmentRow, assignment_id)
    if row is None or row.group_id != group_id:
        raise NotFound(say("There is no such assignment of this group."))
    row.retired_at = row.retired_at or at


def drillable_pairs(db: Session, group_id: int, pair_set_id: int, *, on: date) -> tuple[reading.SetPair, ...]:
    """Return those pairs of a set of which everybody in a group may be shown a picture of either form, one that a stage holds."""
    return drillable_by_set(db, group_id, [pair_set_id], on=on).get(pair_set_id, ())


def drillable_by_set(db: Session, group_id: int, pair_set_ids: Collection[int], *, on: date) -> dict[int, tuple[reading.SetPair, ...]]:
    """Return the same of many sets, by set; it asks the database once for them all, and once for each catalogue."""
    by_set = reading.pairs_of_sets(db, pair_set_ids)
    forms: dict[int, set[int]] = defaultdict(set)
    for pair in (pair for pairs in by_set.values() for pair in pairs):
        forms[pair.catalogue_id] |= {pair.first_form_id, pair.second_form_id}
    shown = {
        catalogue_id: reading.forms_shown(db, group_id, catalogue_id=catalogue_id, form_ids=its, on=on)
        for catalogue_id, its in forms.items()
    }
    return {set_id: tuple(pair for pair in pairs if _has_both(pair, shown[pair.catalogue_id])) for set_id, pairs in by_set.items()}


def list_lacking(db: Session, group_id: int, pair_set_id: int, *, viewer_id: int, on: date) -> tuple[tuple[Form, AtHand], ...]:
    """Return the forms of a set of which a group may be shown no picture, and what there is of each for whoever looks."""
    pairs = reading.pairs_of_sets(db, [pair_set_id]).get(pair_set_id, [])
    if not pairs:
        return ()
    catalogue_id, forms = pairs[0].catalogue_id, {form for pair in pairs for form in (pair.first_form_id, pair.second_form_id)}
    shown = {look.form_id for look in reading.forms_shown(db, group_id, catalogue_id=catalogue_id, form_ids=forms, on=on)}
    found = pictures_at_hand(db, catalogue_id, forms - shown, viewer_id=viewer_id, on=on)
    lores = lore_of_pairs(db, catalogue_id, [pair.id for pair in pairs])
    named = {form.id: form for lore in lores.values() for form in (lore.pair.first, lore.pair.second)}
    return tuple((form, found[form_id]) for form_id, form in named.items() if form_id in found)


def _has_both(pair: reading.SetPair, shown: Collection[Look]) -> bool:
    return any(can_ask(stage, (pair.first_form_id, pair.second_form_id), shown) for stage in pair.stages or (StagePictures(),))


def _refuse_odd(wanted: Wanted, today: date) -> None:
    if wanted.from_day > today + MOST_AHEAD:
        raise Invalid(say("The first day lies more than two years ahead. Choose an earlier one."), field="from_day")
    if wanted.for_day is not None and wanted.for_day < wanted.from_day:
        raise Invalid(say("The day it is for comes before the first day. Put it after."), field="for_day")
    if wanted.for_day is not None and wanted.for_day < today:
        raise Invalid(say("The day it is for has passed. Choose one to come, or none."), field="for_day")
    if wanted.for_day is not None and wanted.for_day > today + MOST_AHEAD:
        raise Invalid(say("The day it is for lies more than two years ahead. Choose an earlier one."), field="for_day")
    if wanted.target_recall is not None and not LOWEST_TARGET <= wanted.target_recall <= HIGHEST_TARGET:
        raise Invalid(say("How sure to be must be from 70 to 97 in a hundred, or empty."), field="target_recall")
