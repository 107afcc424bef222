"""What is read of a learner's answers to say where she stands; its statements are made once."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import Date, Integer, Select, Text, and_, bindparam, cast, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries.given import ACCOUNT, PAIRS


class SureAnswers(NamedTuple):
    """What of an answer tells how sure she was and what it is judged by, and how many answers of the learner's tell the same.

    `asks` is the text that is stored, `form_now` the form in force of the picture.
    """

    sure: str
    said: str
    ask: int
    asks: str
    renamed: Mapping[str, str] | None
    form_id: int
    third: bool
    form_now: int | None
    times: int


def sure_answers(db: Session, account_id: int, *, limit: int = 2000) -> Iterator[SureAnswers]:
    """Yield the learner's latest answers that tell how sure she was, those that tell the same as one; of repeats the first."""
    for row in db.execute(_sure_answers(), {"account_id": account_id, "limit": limit}):
        told = SureAnswers._make(row)
        yield told._replace(renamed=json.loads(row.renamed)) if row.renamed else told


@cache
def _sure_answers() -> Select[Any]:
    columns = (AnswerRow.id, AnswerRow.showing_id, AnswerRow.ask, AnswerRow.said, AnswerRow.sure, AnswerRow.at)
    hers = select(*columns).where(AnswerRow.account_id == ACCOUNT, AnswerRow.sure.is_not(None))
    one = hers.order_by(AnswerRow.at.desc(), AnswerRow.id.desc()).limit(bindparam("limit", type_=Integer())).subquery().c
    other = aliased(AnswerRow)
    earlier = or_(other.at < one.at, and_(other.at == one.at, other.id < one.id))
    same = other.showing_id == one.showing_id, other.ask == one.ask
    # Mostly there is one answer, which the index tells alone.
    repeated = select(func.count()).where(*same).scalar_subquery() > 1
    repeats = and_(repeated, exists().where(*same, other.sure.is_not(None), earlier))
    # PostgreSQL compares texts, and no JSON.
    asks, renamed = cast(ShowingRow.asks, Text), cast(ShowingRow.renamed, Text)
    judged_by = (asks, renamed.label("renamed"), ShowingRow.form_id, ShowingRow.third, PictureRow.form_id)
    return (
        select(one.sure, one.said, one.ask, *judged_by, func.count())
        .join(ShowingRow, ShowingRow.id == one.showing_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .where(~repeats)
        .group_by(one.sure, one.said, one.ask, *judged_by)
    )


def fresh_answers(db: Session, account_id: int, *, since: date, pair_ids: Iterable[int] | None = None) -> Iterable[Any]:
    """Yield answers to fresh showings, the earliest first, with what they are judged by.

    `asks` is the text that is stored, `form_now` the form in force of the picture. Repeats, prompts' answers and thirds are among them.
    Columns, not rows: a learner may have thousands.
    """
    told = {"account_id": account_id, "since": since}
    if pair_ids is None:
        return db.execute(_fresh_answers(), told)
    return db.execute(_fresh_answers_of_pairs(), told | {"pair_ids": list(pair_ids)})


@cache
def _fresh_answers() -> Select[Any]:
    one = ShowingRow
    return (
        select(AnswerRow.ask, AnswerRow.said, AnswerRow.hint, one.id, cast(one.asks, Text).label("asks"), one.renamed, one.form_id)
        .add_columns(one.third, one.prompted, one.rendition, RoundRow.pair_id, RoundRow.rounds_before, DrillRow.local_day)
        .add_columns(PictureRow.form_id.label("form_now"))
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .where(DrillRow.account_id == ACCOUNT, DrillRow.local_day >= bindparam("since", type_=Date()), ShowingRow.fresh)
        .order_by(AnswerRow.at, AnswerRow.id)
    )


@cache
def _fresh_answers_of_pairs() -> Select[Any]:
    return _fresh_answers().where(RoundRow.account_id == ACCOUNT, RoundRow.pair_id.in_(PAIRS))
