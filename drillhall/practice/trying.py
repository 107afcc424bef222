"""Tries a learner who says that she knows a pair: a drill of its own with one round, over as soon as the answers say enough."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.kinds import form
from drillhall.core.placement import MOST_PICTURES, Placing, place
from drillhall.core.rounds.choose import is_fresh
from drillhall.core.rounds.trial import draw_trial
from drillhall.core.values import Candidate, Form, Pair, Use
from drillhall.errors import Conflict, NotFound
from drillhall.practice.asks import stored_ask
from drillhall.practice.cautioning import banners_of
from drillhall.practice.days import local_day
from drillhall.practice.drilling import GOOD_FOR
from drillhall.practice.judging import form_said, judged
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import PictureView
from drillhall.practice.planning import the_pace
from drillhall.practice.reader import reader_of
from drillhall.practice.views import picture_views
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries import lately, log, trials
from drillhall.store.queries import learner as reading
from drillhall.words import say

WHY: Final = "trial"


@dataclass(frozen=True, slots=True)
class Tried:
    """One picture of a trial that was answered: what it shows, what was said (None for a form no longer told), and whether rightly."""

    truth: Form
    said: Form | None
    right: bool
    picture: PictureView | None


@dataclass(frozen=True, slots=True)
class TrialPage:
    """A trial as it stands: the picture asked for now (None once it is over), what was answered, and what it came to.

    `back_on` is when the pair comes back after a trial that is over; `stopped`: it can go no further, since no picture is left.
    """

    drill_id: str
    pair: Pair
    placing: Placing
    showing_id: int | None
    picture: PictureView | None
    tried: tuple[Tried, ...]
    back_on: date | None
    stopped: bool
    banners: tuple[str, ...]
    most: int = MOST_PICTURES

    @property
    def right(self) -> int:
        """How many were right so far."""
        return sum(one.right for one in self.tried)


def start_trial(db: Session, account_id: int, pair_id: int, *, drill_id: str, at: datetime) -> str:
    """Plan a trial of a pair under `drill_id` and return its id; while one of this pair is open, return that.

    Raises
    ------
    NotFound : the pair is in no set of hers.
    Conflict : the pair was rated today already, or a form has too few pictures.
    """
    account = db.scalars(select(AccountRow).where(AccountRow.id == account_id).with_for_update()).one()
    today = local_day(account, at)
    taken = next((row for row in reading.taken_pairs(db, account_id, on=today) if row.id == pair_id), None)
    if taken is None:
        raise NotFound(say("There is no such pair in your sets."))
    current = trials.open_trial(db, account_id, pair_id, now=at)
    if current is not None and the_trial(db, account_id, current, now=at).placing is Placing.GOING_ON:
        return current
    memory = reading.memory(db, account_id, pair_id)
    if memory is not None and memory.last_day >= today:
        raise Conflict(say("This pair has had its round for today. Try it on another day."))
    dice = random.Random(f"{account_id} {pair_id} {at.isoformat()} trial")
    drawn = draw_trial(_candidates(db, account_id, taken, on=today), (taken.first_form_id, taken.second_form_id), dice=dice)
    if not drawn:
        raise Conflict(say("There are too few pictures of this pair that you may be shown: a trial needs five of either form."))
    _store(db, account, taken, drawn, drill_id=drill_id, at=at, today=today)
    return drill_id


def the_trial(db: Session, account_id: int, drill_id: str, *, now: datetime) -> TrialPage:
    """Return a trial of a learner's as it stands; raises NotFound where it is none of hers."""
    found = trials.the_trial(db, account_id, drill_id)
    if found is None:
        raise NotFound(say("There is no such trial of yours."))
    logged, showings = found
    account, shown_forms = db.get_one(AccountRow, account_id), {row.form_id for row in showings}
    today, reader = local_day(account, now), reader_of(account)
    lore = lore_of_pairs(db, logged.catalogue_id, [logged.pair_id], as_shown=shown_forms, reader=reader)[logged.pair_id]
    answers = _first(log.answers_of(db, drill_id))
    shown = [row.picture_id for row in showings]
    views = picture_views(db, shown, catalogue_id=logged.catalogue_id, viewer_id=account_id, on=today)
    tried, rights = _tried(db, showings, answers, lore.forms, views)
    placing = place(rights)
    gone = reading.withdrawn(db, account_id, [row.id for row in showings], on=today)
    left = [row for row in showings if row.id not in answers and row.id not in gone and row.picture_id in views]
    asked = left[0] if left and placing is Placing.GOING_ON else None
    memory = reading.memory(db, account_id, logged.pair_id)
    return TrialPage(
        drill_id=drill_id,
        pair=lore.pair,
        placing=placing,
        showing_id=asked.id if asked is not None else None,
        picture=views[asked.picture_id] if asked is not None else None,
        tried=tried,
        back_on=memory.due_day if memory is not None and placing is not Placing.GOING_ON else None,
        stopped=asked is None and placing is Placing.GOING_ON,
        banners=banners_of(db, [logged.catalogue_id]),
    )


def _tried(
    db: Session,
    showings: Sequence[ShowingRow],
    answers: Mapping[int, AnswerRow],
    forms: Mapping[int, Form],
    views: Mapping[int, PictureView],
) -> tuple[tuple[Tried, ...], list[bool]]:
    """Return what was answered in the order given, by the labels in force, and whether each was right; what counts nowhere is left out."""
    in_force = log.forms_in_force(db, answers)
    tried, rights = [], []
    for row in sorted((row for row in showings if row.id in answers), key=lambda row: (answers[row.id].at, answers[row.id].id)):
        counts_as, answer = judged(row, in_force.get(row.id)), answers[row.id]
        if counts_as is None or counts_as.form_id not in forms:
            continue
        right = answer.said == counts_as.key
        tried.append(Tried(forms[counts_as.form_id], forms.get(form_said(row, answer.said)), right, views.get(row.picture_id)))
        rights.append(right and not answer.hint)
    return tuple(tried), rights


def _first(answers: Sequence[AnswerRow]) -> dict[int, AnswerRow]:
    found: dict[int, AnswerRow] = {}
    for row in answers:
        found.setdefault(row.showing_id, row)
    return found


def _candidates(db: Session, account_id: int, taken: reading.TakenPair, *, on: date) -> list[Candidate]:
    forms = {taken.first_form_id, taken.second_form_id}
    rows = reading.drillable(db, account_id, catalogue_id=taken.catalogue_id, form_ids=forms, use=Use.PRACTICE.value, on=on)
    return [
        Candidate(picture.id, picture.form_id or 0, orientation=picture.orientation, seen_at=seen_at, own=picture.owner_id == account_id)
        for picture, _, seen_at in rows
    ]


def _store(
    db: Session, account: AccountRow, taken: reading.TakenPair, drawn: Sequence[Candidate], *, drill_id: str, at: datetime, today: date
) -> None:
    pace = the_pace(lately.recent_seconds(db, account.id))
    drill = DrillRow(
        id=drill_id, account_id=account.id, zone=account.zone, planned_at=at, planned_day=today, until=at + GOOD_FOR, minutes=1
    )
    drill.showing_ms, drill.pace_ms, drill.is_trial = round(pace.showing_seconds * 1000), round(pace.answer_seconds * 1000), True
    db.add(drill)
    db.flush()
    begun = log.rounds_begun(db, account.id, [taken.id]).get(taken.id, 0)
    logged = RoundRow(drill_id=drill_id, account_id=account.id, pair_id=taken.id, catalogue_id=taken.catalogue_id, place=0, why=WHY)
    logged.rounds_before = begun
    db.add(logged)
    db.flush()
    pair = lore_of_pairs(db, taken.catalogue_id, [taken.id])[taken.id].pair
    for number, picture in enumerate(drawn):
        db.add(
            ShowingRow(
                round_id=logged.id,
                account_id=account.id,
                place=number,
                picture_id=picture.picture_id,
                form_id=picture.form_id,
                orientation=picture.orientation,
                first_sight=picture.seen_at is None and not picture.own,
                fresh=is_fresh(picture, now=at),
                asks=[stored_ask(form.make_ask(pair, picture.form_id, neither=False))],
            )
        )
    db.flush()
