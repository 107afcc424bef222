"""What planning and the first page read of a learner's log: of so many latest drills or answers, or of one day, as statements made once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import Integer, Select, String, Text, bindparam, cast, exists, func, select
from sqlalchemy.orm import Session

from drillhall.core.values import Sure
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries.given import ACCOUNT, ON, SINCE, ask
from drillhall.store.queries.log import counts

RECENT_DRILLS = 60
"""Older drills weigh less than 0.93 ** 60 = 1.3 % in the share of turns, so they are not read."""

RECENT_ANSWERS = 120


def recent_pictures(db: Session, account_id: int) -> Sequence[Any]:
    """Return (drill, pair, pictures answered) of each round of the learner's latest drills, the latest drill first."""
    return ask(db, _recent_pictures(), account_id=account_id)


def rounds_on(db: Session, account_id: int, day: date) -> dict[int, int]:
    """Return how many rounds of each pair were begun on a local day."""
    return {pair_id: int(count) for pair_id, count in ask(db, _rounds_on(), account_id=account_id, on=day, since=_before(day))}


class ShownOn(NamedTuple):
    """That a round of a pair showed a picture on some day, as one of a form, and it was answered."""

    pair_id: int
    round_id: int
    form_id: int
    picture_id: int


def shown_on(db: Session, account_id: int, day: date) -> list[ShownOn]:
    """Return what the rounds begun on a local day showed."""
    return [ShownOn(*row) for row in ask(db, _shown_on(), account_id=account_id, on=day, since=_before(day))]


def _before(day: date) -> datetime:
    """Return an instant before which nobody begins a drill that counts to a local day, so that of all drills the latest are looked through.

    A zone is ahead of UTC by 14 hours at most; a drill that counts to the day of an earlier one was begun after that one.
    """
    return datetime.combine(day, time.min, UTC) - timedelta(days=1)


def recent_seconds(db: Session, account_id: int) -> list[tuple[int, float, bool]]:
    """Return (showing, seconds, whether a form was named) of the learner's latest answers."""
    return [(showing_id, seconds, bool(named)) for showing_id, seconds, named in ask(db, _recent_seconds(), account_id=account_id)]


def certain_answers(db: Session, account_id: int, *, since: datetime, limit: int = 60) -> Iterator[Any]:
    """Yield the learner's latest answers given as certain, the latest first.

    Columns (showing_id, ask, said, at, asks as the text stored, renamed, third), and no more than are asked for: what is looked for is
    mostly among the first.
    """
    told = {"account_id": account_id, "sure": Sure.CERTAIN.value, "since": since, "limit": limit}
    rows = db.execute(_certain_answers(), told)
    try:
        yield from rows
    finally:
        rows.close()


@cache
def _recent_pictures() -> Select[Any]:
    latest = (
        select(DrillRow.id, DrillRow.first_at)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.first_at.is_not(None))
        .order_by(DrillRow.first_at.desc())
        .limit(RECENT_DRILLS)
        .subquery()
    )
    # Counted round by round, nothing is sorted but the drills.
    answered = exists().where(AnswerRow.showing_id == ShowingRow.id)
    count = select(func.count()).where(ShowingRow.round_id == RoundRow.id, answered).scalar_subquery()
    columns: list[Any] = [latest.c.id, RoundRow.pair_id, count]
    return select(*columns).join(RoundRow, RoundRow.drill_id == latest.c.id).order_by(latest.c.first_at.desc())


@cache
def _rounds_on() -> Select[int, int]:
    return (
        select(RoundRow.pair_id, func.count(func.distinct(RoundRow.id)))
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.local_day == ON, DrillRow.first_at >= SINCE)
        .group_by(RoundRow.pair_id)
    )


@cache
def _shown_on() -> Select[int, int, int, int]:
    return (
        select(RoundRow.pair_id, RoundRow.id, ShowingRow.form_id, ShowingRow.picture_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.local_day == ON, DrillRow.first_at >= SINCE)
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


@cache
def _certain_answers() -> Select[Any]:
    given, one = AnswerRow, ShowingRow
    columns: list[Any] = [given.showing_id, given.ask, given.said, given.at, cast(one.asks, Text).label("asks"), one.renamed, one.third]
    hers = (given.account_id == ACCOUNT, given.sure == bindparam("sure", type_=String()), given.at >= SINCE)
    latest = select(*columns).join(one, one.id == given.showing_id).where(*hers, counts()).order_by(given.at.desc())
    return latest.limit(bindparam("limit", type_=Integer()))
