"""A learner's counts as the database adds them up: of all times, and of the weeks that weigh in a rate; its statements are made once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any, Final, NamedTuple

from sqlalchemy import BigInteger, ColumnElement, Integer, Select, and_, bindparam, case, cast, func, select
from sqlalchemy.orm import Session

from drillhall.core.confusion.halving import HALVINGS, PHASES, weeks_ago_from
from drillhall.core.values import Rendition
from drillhall.store.models.practice import TallyRow
from drillhall.store.queries.given import ACCOUNT, SINCE_WEEK

_WEEK_NOW: Final[Any] = bindparam("week_now", type_=Integer())
_NEW_YEAR: Final[Any] = bindparam("new_year", type_=Integer())
_YEAR_BEFORE: Final[Any] = bindparam("year_before", type_=Integer())


class Ever(NamedTuple):
    """Answers to one form of a pair, the right ones or the wrong ones, of all times and to pictures as taken; `fresh` of them are so."""

    pair_id: int
    shown_form_id: int
    is_right: bool
    times: int
    fresh: int


def lately(db: Session, account_id: int, *, since_week: int, week_now: int) -> Iterable[Any]:
    """Yield a learner's counts from an ISO week (year * 100 + week), a year ago at most, on; a week to come counts as this one.

    Of answers to pictures as taken, for each form of a pair, the right ones apart: (pair, form shown, whether right, answers, those of
    them with two choices, and the sums of these that `decayed_of_phases` takes, one by one). Columns: there may be thousands.
    """
    _, before = weeks_ago_from(week_now)
    told = {"account_id": account_id, "since_week": since_week, "week_now": week_now, "new_year": week_now // 100 * 100}
    return db.execute(_lately(), told | {"year_before": before})


@cache
def _lately() -> Select[Any]:
    tally = TallyRow.__table__.c
    ago = case((tally.week >= _WEEK_NOW, 0), (tally.week > _NEW_YEAR, _WEEK_NOW - tally.week), else_=_YEAR_BEFORE - tally.week)
    plain, right = tally.choices == 2, tally.said_form_id == tally.shown_form_id
    scaled = tally["count"].bitwise_lshift(HALVINGS - ago // PHASES)
    phases = (_sum_where(and_(plain, ago % PHASES == phase), scaled) for phase in range(PHASES))
    return (
        select(tally.pair_id, tally.shown_form_id, right, _whole(func.sum(tally["count"])), _sum_where(plain, tally["count"]), *phases)
        .where(tally.account_id == ACCOUNT, tally.week >= SINCE_WEEK, tally.rendition == Rendition.AS_TAKEN.value)
        .group_by(tally.pair_id, tally.shown_form_id, right)
    )


def ever(db: Session, account_id: int) -> Iterator[Ever]:
    """Yield a learner's counts of all times, for a form said each; one without a picture as taken counts nothing, and is yielded."""
    for pair_id, shown, said, times, fresh in db.execute(_ever(), {"account_id": account_id}):
        yield Ever(pair_id, shown, said == shown, times, fresh)


@cache
def _ever() -> Select[Any]:
    tally = TallyRow.__table__.c
    cell = (tally.pair_id, tally.shown_form_id, tally.said_form_id)  # as the primary key orders them, so that nothing is sorted
    as_taken = tally.rendition == Rendition.AS_TAKEN.value
    counts = (_sum_where(as_taken, tally["count"]), _sum_where(and_(as_taken, tally.fresh), tally["count"]))
    return select(*cell, *counts).where(tally.account_id == ACCOUNT).group_by(*cell)


def _sum_where(those: ColumnElement[bool], value: ColumnElement[int]) -> ColumnElement[int]:
    return _whole(func.coalesce(func.sum(value).filter(those), 0))


def _whole(value: ColumnElement[int]) -> ColumnElement[int]:
    """Return a sum as a whole number: PostgreSQL makes another kind of it."""
    return cast(value, BigInteger)
