"""A learner's counts as they are kept added up by year; the statement is made once."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any, Final

from sqlalchemy import Integer, Select, bindparam, select
from sqlalchemy.orm import Session

from drillhall.store.models.practice import TallyYearRow
from drillhall.store.queries.given import ACCOUNT, ask

_SINCE_YEAR: Final[Any] = bindparam("since_year", type_=Integer())


def of_years(db: Session, account_id: int, *, since_year: int = 0) -> Sequence[Any]:
    """Return a learner's counts from an ISO year on, in the order of their key.

    Columns (pair, form shown, form said, year, answers, fresh, plain, weighed), as `core.confusion.YearSum` tells the last four: there may
    be thousands.
    """
    return ask(db, _of_years(), account_id=account_id, since_year=since_year)


@cache
def _of_years() -> Select[Any]:
    one = TallyYearRow.__table__.c
    columns: list[Any] = [one.pair_id, one.shown_form_id, one.said_form_id, one.year, one.answers, one.fresh, one.plain, one.weighed]
    key = (one.account_id, one.year, one.pair_id, one.shown_form_id, one.said_form_id)
    return select(*columns).where(one.account_id == ACCOUNT, one.year >= _SINCE_YEAR).order_by(*key)
