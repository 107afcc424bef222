"""What the first page says: today's drill and why, the picture to look at again, and what is coming."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from drillhall.core.joining import asks_nothing, renamed_ask
from drillhall.core.kinds import form
from drillhall.core.rounds.day import USUAL_ROUND
from drillhall.core.rounds.minutes import minutes_told
from drillhall.core.values import NEITHER, Form, Mark, Pair, PlannedRound, Why
from drillhall.practice import shelf
from drillhall.practice.assigned import SetForHer
from drillhall.practice.cautioning import banners_of, cautions_of
from drillhall.practice.days import local_day
from drillhall.practice.explaining import explained, the_portraits
from drillhall.practice.judging import form_said
from drillhall.practice.left import pictures_left
from drillhall.practice.logged import asked
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import Explained, PictureView
from drillhall.practice.planning import DrillPlan, plan_for
from drillhall.practice.playing import WHY_WORDS
from drillhall.practice.reader import reader_of
from drillhall.practice.reviewing import mixes_up_in_words, named_pairs
from drillhall.practice.views import picture_views
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import RoundRow, ShowingRow
from drillhall.store.queries import lately, log
from drillhall.store.queries import learner as reading
from drillhall.words import joined

LOOK_BACK = timedelta(days=14)
NEW_LEARNER_ROUNDS = 6
"""Cautions stand on the first page until a learner has begun so many rounds."""


@dataclass(frozen=True, slots=True)
class PairLine:
    """A pair in today's drill, and why it is there."""

    pair: Pair
    why: Why
    why_words: str


@dataclass(frozen=True, slots=True)
class LookAgain:
    """The picture that she last missed while certain, of those that may be shown still: what it is, and what she said it was."""

    picture: PictureView
    explained: Explained
    said: Form | None
    days_ago: int
    mark: Mark | None


@dataclass(frozen=True, slots=True)
class ComingDay:
    """A day to come: how many pairs fall due, and about how long they take."""

    day: date
    pairs: int
    minutes: int


@dataclass(frozen=True, slots=True)
class JudgedAnew:
    """How many pictures had their label corrected lately after she had answered on them, and how many answers that was."""

    pictures: int
    answers: int


@dataclass(frozen=True, slots=True)
class TodayPage:
    """What the first page shows."""

    lines: tuple[PairLine, ...]
    pictures: int
    minutes: int
    open_drill: str
    left: int
    short: str
    look_again: LookAgain | None
    coming: tuple[ComingDay, ...]
    has_sets: bool
    shelf_is_empty: bool
    without_pictures: int
    all_rest: bool
    done_today: int
    cautions: tuple[str, ...]
    banners: tuple[str, ...]
    today: date
    judged_anew: JudgedAnew
    assigned: tuple[SetForHer, ...] = ()


def the_today(db: Session, account_id: int, *, now: datetime) -> TodayPage:
    """Return the learner's first page; nothing is planned for good by looking at it."""
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    plan = plan_for(db, account, today=today)
    current = log.open_drill(db, account_id, now=now)
    left = pictures_left(db, account_id, current.id, today=today) if current is not None and current.planned_day == today else 0
    catalogues = set(plan.catalogues.values())
    pictures = sum(planned.showings for planned in plan.rounds)
    begun = sum(memory.rounds for memory in plan.memories.values())
    has_sets = bool(plan.pairs) or plan.without_pictures > 0
    return TodayPage(
        lines=_lines(db, account_id, plan, today),
        pictures=pictures,
        minutes=minutes_told(pictures, plan.pace.showing_seconds),
        open_drill=current.id if current is not None and left else "",
        left=left,
        short=plan.short,
        look_again=_look_again(db, account, today=today, now=now),
        coming=_coming(plan, account, today),
        has_sets=has_sets,
        shelf_is_empty=not has_sets and shelf.is_empty(db),
        without_pictures=plan.without_pictures,
        all_rest=has_sets and not plan.pairs,
        done_today=sum(lately.rounds_on(db, account_id, today).values()),
        cautions=cautions_of(db, catalogues, "today") if begun < NEW_LEARNER_ROUNDS else (),
        banners=banners_of(db, catalogues),
        today=today,
        judged_anew=judged_anew_lately(db, account_id, now=now),
        assigned=plan.assigned.sets,
    )


def judged_anew_lately(db: Session, account_id: int, *, now: datetime) -> JudgedAnew:
    """Return what of a learner's answers was judged anew in the last two weeks, since labels were corrected."""
    return JudgedAnew(*log.judged_anew(db, account_id, since=now - LOOK_BACK))


def _lines(db: Session, account_id: int, plan: DrillPlan, today: date) -> tuple[PairLine, ...]:
    """Return each pair of the plan once, those with something to say first in the order of the drill."""
    pairs = named_pairs(db, account_id, on=today)
    first: dict[int, PlannedRound] = {}
    for planned in plan.rounds:
        first.setdefault(planned.pair_id, planned)
    lines = []
    for planned in first.values():
        pair = pairs[planned.pair_id]
        words = WHY_WORDS[planned.why]
        both = plan.skill.directions(pair.id, pair.first.id, pair.second.id)
        # The plan knows a year of counts: where she missed nothing in it, it cannot say that she never did.
        if planned.why is Why.WEAK and any(one.right < one.shown for one in both):
            words = mixes_up_in_words(pair, both)
        if set_by := plan.assigned.says_of(pair.id):
            words = joined(". ", (set_by, words))
        lines.append(PairLine(pair, planned.why, words))
    return tuple(lines)


def _coming(plan: DrillPlan, account: AccountRow, today: date) -> tuple[ComingDay, ...]:
    """Return the next three days on which anything falls due."""
    due = Counter(pair.due_day for pair in plan.pairs.values() if pair.due_day is not None and pair.due_day > today)
    length = account.round_length or USUAL_ROUND
    days = sorted(day for day in due if day <= today + timedelta(days=7))[:3]
    return tuple(ComingDay(day, due[day], minutes_told(due[day] * length, plan.pace.showing_seconds)) for day in days)


@dataclass(frozen=True, slots=True)
class _Miss:
    """A certain answer that was wrong: on which showing, what was said, and how many days ago."""

    showing_id: int
    said: int
    days_ago: int


def _look_again(db: Session, account: AccountRow, *, today: date, now: datetime) -> LookAgain | None:
    misses = _misses(db, account, today=today, now=now)
    latest = next(misses, None)
    told = _explain(db, account, latest, today=today) if latest is not None else None
    if told is not None:
        return told
    others = list(misses)  # of the latest the picture may not be shown: which of the others may is asked for all at once
    gone = reading.withdrawn(db, account.id, [one.showing_id for one in others], on=today) if others else {}
    shown = next((one for one in others if one.showing_id not in gone), None)
    return _explain(db, account, shown, today=today) if shown is not None else None


def _misses(db: Session, account: AccountRow, *, today: date, now: datetime) -> Iterator[_Miss]:
    for one in lately.certain_answers(db, account.id, since=now - LOOK_BACK):
        ask = renamed_ask(asked(one.asks)[one.ask], one.renamed or {})
        said = form_said(one, one.said) if ask.kind == form.KEY and not asks_nothing(ask) else None
        if said is not None and str(said) != ask.key and not one.third:
            yield _Miss(one.showing_id, said, (today - local_day(account, one.at)).days)


def _explain(db: Session, account: AccountRow, miss: _Miss, *, today: date) -> LookAgain | None:
    showing = db.get_one(ShowingRow, miss.showing_id)
    logged = db.get_one(RoundRow, showing.round_id)
    if reading.withdrawn(db, account.id, [showing.id], on=today):
        return None
    lores = lore_of_pairs(db, logged.catalogue_id, [logged.pair_id], as_shown=[showing.form_id], reader=reader_of(account))
    views = picture_views(db, [showing.picture_id], catalogue_id=logged.catalogue_id, viewer_id=account.id, on=today)
    picture = views.get(showing.picture_id)
    if picture is None or logged.pair_id not in lores:
        return None
    lore = lores[logged.pair_id]
    portraits = the_portraits(db, account.id, logged.catalogue_id, set(lore.forms), on=today)
    told = explained(lore, lore.forms[showing.form_id], picture, portraits)
    taken_for = None if miss.said == NEITHER else lore.forms[miss.said]
    return LookAgain(picture=picture, explained=told, said=taken_for, days_ago=max(0, miss.days_ago), mark=told.mark)
