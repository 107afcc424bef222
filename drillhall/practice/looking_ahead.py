"""Looks ahead for a learner: the drills of the coming weeks, and which pairs will have faded by a day that she picks."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.forecast import MOST_DAYS, Faded, Habit, WeekAhead, fade_by, weeks_ahead
from drillhall.core.rounds.day import USUAL_ROUND
from drillhall.core.values import Memory, Pair
from drillhall.errors import Invalid
from drillhall.practice.days import local_day
from drillhall.practice.planning import DrillPlan, plan_for
from drillhall.practice.recalibrating import the_recalibration
from drillhall.practice.remembering import memories_of, parameters_of
from drillhall.practice.reviewing import named_pairs
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import ahead
from drillhall.store.queries import learner as reading
from drillhall.words import say

USUAL_LOOK: Final = timedelta(days=28)
LOOK_BACK: Final = timedelta(days=28)
"""How often she comes is taken from so many days; a newcomer is taken to come every day."""

NEWCOMER: Final = timedelta(days=14)
TIMES: Final = 10
WORDS: Final = ("unlikely", "open", "likely")


@dataclass(frozen=True, slots=True)
class FadedPair:
    """A pair as it will stand on the day picked if it is not drilled until then; `chance` is None while there are words alone."""

    pair: Pair
    word: str
    chance: float | None


@dataclass(frozen=True, slots=True)
class AheadPage:
    """A look ahead: weeks, and pairs with what has faded most first; `by` is the day picked, `latest` the last one that may be."""

    today: date
    by: date
    latest: date
    weeks: tuple[WeekAhead, ...]
    faded: tuple[FadedPair, ...]
    days_a_week: float
    minutes_a_day: int
    in_numbers: bool

    def said(self, word: str) -> tuple[FadedPair, ...]:
        """Return the pairs whose next round is said to be held likely, openly or unlikely."""
        return tuple(one for one in self.faded if one.word == word)


def look_ahead(db: Session, account_id: int, *, by: date | None, now: datetime) -> AheadPage:
    """Return what is ahead of a learner.

    Parameters
    ----------
    by : the day to look at, from today to 60 days on; None for four weeks on.

    Raises
    ------
    Invalid : a day out of that range.
    """
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    latest = today + timedelta(days=MOST_DAYS)
    by = today + USUAL_LOOK if by is None else by
    if not today <= by <= latest:
        raise Invalid(
            say(
                "Choose a day from {first} to {last}: nobody can see further.",
                first=today,
                last=latest,
            ),
            field="by",
        )
    plan = plan_for(db, account, today=today)
    recalibration, parameters = the_recalibration(db), parameters_of(db, account_id)
    drilled, first = ahead.days_drilled(db, account_id, since=today - LOOK_BACK)
    habit = _habit(account, plan, drilled=drilled, first=first, today=today)
    held = {pair_id: memory for pair_id, memory in plan.memories.items() if pair_id in plan.pairs}
    return AheadPage(
        today=today,
        by=by,
        latest=latest,
        weeks=weeks_ahead(
            held,
            sum(not pair.met for pair in plan.pairs.values()),
            habit,
            today=today,
            dice=random.Random(f"{account.id} {today.isoformat()} ahead"),
            recalibration=recalibration,
            times=TIMES,
            account_id=account.id,
            parameters=parameters,
        ),
        faded=_named(
            named_pairs(db, account_id, on=today), fade_by(_every(db, account_id), by, recalibration=recalibration, parameters=parameters)
        ),
        days_a_week=habit.days_a_week,
        minutes_a_day=account.minutes_a_day,
        in_numbers=recalibration is not None,
    )


def _every(db: Session, account_id: int) -> dict[int, Memory]:
    return memories_of(reading.memories(db, account_id).values())


def _named(pairs: Mapping[int, Pair], faded: tuple[Faded, ...]) -> tuple[FadedPair, ...]:
    return tuple(FadedPair(pairs[one.pair_id], one.word, one.chance) for one in faded if one.pair_id in pairs)


def _habit(account: AccountRow, plan: DrillPlan, *, drilled: int, first: date | None, today: date) -> Habit:
    minutes_a_round = plan.pace.showing_seconds * (account.round_length or USUAL_ROUND) / 60
    is_newcomer = first is None or today - first < NEWCOMER
    return Habit(
        rounds_a_day=max(1, round(account.minutes_a_day / minutes_a_round)),
        minutes_a_round=minutes_a_round,
        days_a_week=7.0 if is_newcomer else max(drilled * 7 / LOOK_BACK.days, 0.25),
        new_a_day=account.new_a_day,
        target_recall=account.target_recall,
    )
