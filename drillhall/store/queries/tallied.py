"""A learner's counts as the database adds them up: of all times, and of the weeks that weigh in a rate; its statements are made once."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any, Final

from sqlalchemy import BigInteger, ColumnElement, Integer, Select, and_, bindparam, case, cast, func, select
from sqlalchemy.orm import Session

from drillhall.core.confusion.halving import HALVINGS, PHASES, weeks_ago_from
from drillhall.core.values import Rendition
from drillhall.store.models.practice import TallyRow
from drillhall.store.queries.given import ACCOUNT, SINCE_WEEK

_WEEK_NOW: Final[Any] = bindparam("week_now", type_=Integer())
_NEW_YEAR: Final[Any] = bindparam("new_year", type_=Integer())
_YEAR_BEFORE: Final[Any] = bindparam("year_before", type_=Integer())


def lately(db: Session, account_id: int, *, since_week: int, week_now: int) -> Iterable[Any]:
    """Yield a learner's counts from an ISO week (year * 100 + week), a year ago at most, on; a week to come counts as this one.

    Of answers to pictures as taken, for each form of a pair, the right ones apart: (pair, form shown, whether right, answers, those of
    them with two choices, and the sums of these that `decayed_of_phases` takes, one by one). Columns: there may be thousands.
    """
    return db.execute(_lately(), _told(account_id, since_week, week_now))


def _told(account_id: int, since_week: int, week_now: int) -> dict[str, int]:
    _, before = weeks_ago_from(week_now)
    weeks = {"since_week": since_week, "week_now": week_now, "new_year": week_now // 100 * 100, "year_before": before}
    return weeks | {"account_id": account_id}


def _phases(those: ColumnElement[bool]) -> list[ColumnElement[int]]:
    """Return the sums over some counts that `decayed_of_phases` takes."""
    tally = TallyRow.__table__.c
    ago = case((tally.week >= _WEEK_NOW, 0), (tally.week > _NEW_YEAR, _WEEK_NOW - tally.week), else_=_YEAR_BEFORE - tally.week)
    scaled = tally["count"].bitwise_lshift(HALVINGS - ago // PHASES)
    return [_sum_where(and_(those, ago % PHASES == phase), scaled) for phase in range(PHASES)]


@cache
def _lately() -> Select[Any]:
    tally = TallyRow.__table__.c
    plain, right = tally.choices == 2, tally.said_form_id == tally.shown_form_id
    phases = _phases(plain)
    return (
        select(tally.pair_id, tally.shown_form_id, right, _whole(func.sum(tally["count"])), _sum_where(plain, tally["count"]), *phases)
        .where(tally.account_id == ACCOUNT, tally.week >= SINCE_WEEK, tally.rendition == Rendition.AS_TAKEN.value)
        .group_by(tally.pair_id, tally.shown_form_id, right)
    )


def ever(db: Session, account_id: int, *, since_week: int, week_now: int) -> Iterable[Any]:
    """Yield a learner's counts of all times, and beside them those that `lately` yields, in one reading.

    Of answers to pictures as taken, for each form of a pair and each form said: (pair, form shown, form said, answers, fresh ones among
    them, of the weeks from that one on those with two choices, and the sums of these). One without a picture as taken counts nothing,
    and is yielded.
    """
    return db.execute(_ever(), _told(account_id, since_week, week_now))


@cache
def _ever() -> Select[Any]:
    tally = TallyRow.__table__.c
    cell = (tally.pair_id, tally.shown_form_id, tally.said_form_id)  # as the primary key orders them, so that nothing is sorted
    as_taken = tally.rendition == Rendition.AS_TAKEN.value
    plain = and_(tally.week >= SINCE_WEEK, tally.choices == 2, as_taken)
    count = tally["count"]
    counts = (_sum_where(as_taken, count), _sum_where(and_(tally.fresh, as_taken), count), _sum_where(plain, count))
    return select(*cell, *counts, *_phases(plain)).where(tally.account_id == ACCOUNT).group_by(*cell)


def _sum_where(those: ColumnElement[bool], value: ColumnElement[int]) -> ColumnElement[int]:
    return _whole(func.coalesce(func.sum(value).filter(those), 0))


def _whole(value: ColumnElement[int]) -> ColumnElement[int]:
    """Return a sum as a whole number: PostgreSQL makes another kind of it."""
    return cast(value, BigInteger)
