"""What planning reads of a learner's log: of so many latest drills or answers, or of one day, by statements that are made once."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import NamedTuple

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries.given import ACCOUNT, ON
from drillhall.store.queries.log import counts

RECENT_DRILLS = 60
"""Older drills weigh less than 0.93 ** 60 = 1.3 % in the share of turns, so they are not read."""

RECENT_ANSWERS = 120


def recent_pictures(db: Session, account_id: int) -> list[tuple[str, int, int]]:
    """Return (drill, pair, pictures answered) of the learner's latest drills, the latest drill first."""
    return [(drill_id, pair_id, int(count)) for drill_id, pair_id, count in db.execute(_recent_pictures(), {"account_id": account_id})]


def rounds_on(db: Session, account_id: int, day: date) -> dict[int, int]:
    """Return how many rounds of each pair were begun on a local day."""
    return {pair_id: int(count) for pair_id, count in db.execute(_rounds_on(), {"account_id": account_id, "on": day})}


class ShownOn(NamedTuple):
    """That a round of a pair showed a picture on some day, as one of a form, and it was answered."""

    pair_id: int
    round_id: int
    form_id: int
    picture_id: int


def shown_on(db: Session, account_id: int, day: date) -> list[ShownOn]:
    """Return what the rounds begun on a local day showed."""
    return [ShownOn(*row) for row in db.execute(_shown_on(), {"account_id": account_id, "on": day})]


def recent_seconds(db: Session, account_id: int) -> list[tuple[int, float, bool]]:
    """Return (showing, seconds, whether a form was named) of the learner's latest answers."""
    return [(showing_id, seconds, bool(named)) for showing_id, seconds, named in db.execute(_recent_seconds(), {"account_id": account_id})]


@cache
def _recent_pictures() -> Select[str, int, int]:
    latest = (
        select(DrillRow.id, DrillRow.first_at)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.first_at.is_not(None))
        .order_by(DrillRow.first_at.desc())
        .limit(RECENT_DRILLS)
        .subquery()
    )
    return (
        select(latest.c.id, RoundRow.pair_id, func.count(func.distinct(ShowingRow.id)))
        .join(RoundRow, RoundRow.drill_id == latest.c.id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .group_by(latest.c.id, latest.c.first_at, RoundRow.pair_id)
        .order_by(latest.c.first_at.desc())
    )


@cache
def _rounds_on() -> Select[int, int]:
    return (
        select(RoundRow.pair_id, func.count(func.distinct(RoundRow.id)))
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.local_day == ON)
        .group_by(RoundRow.pair_id)
    )


@cache
def _shown_on() -> Select[int, int, int, int]:
    return (
        select(RoundRow.pair_id, RoundRow.id, ShowingRow.form_id, ShowingRow.picture_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.local_day == ON)
        .distinct()
    )


@cache
def _recent_seconds() -> Select[int, float, bool]:
    return (
        select(AnswerRow.showing_id, AnswerRow.seconds, AnswerRow.sure.is_not(None))
        .where(AnswerRow.account_id == ACCOUNT, counts())
        .order_by(AnswerRow.at.desc())
        .limit(RECENT_ANSWERS)
    )
