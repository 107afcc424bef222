"""What is read of a learner's answers to say where she stands; its statements are made once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import Date, Integer, Select, Text, bindparam, cast, select
from sqlalchemy.orm import Session

from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries.given import ACCOUNT, PAIRS


def sure_answers(db: Session, account_id: int, *, limit: int = 2000) -> Iterable[Any]:
    """Return the learner's latest answers that tell how sure she was, with what they are judged by; of repeats the first.

    `asks` is the text that is stored, `form_now` the form in force of the picture.
    """
    found = db.execute(_sure_answers(), {"account_id": account_id, "limit": limit})
    return {(row.id, row.ask): row for row in found}.values()


@cache
def _sure_answers() -> Select[Any]:
    one = ShowingRow
    return (
        select(AnswerRow.sure, AnswerRow.said, AnswerRow.ask, one.id, cast(one.asks, Text).label("asks"), one.renamed, one.form_id)
        .add_columns(one.third, PictureRow.form_id.label("form_now"))
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .where(AnswerRow.account_id == ACCOUNT, AnswerRow.sure.is_not(None))
        .order_by(AnswerRow.at.desc(), AnswerRow.id.desc())
        .limit(bindparam("limit", type_=Integer()))
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
