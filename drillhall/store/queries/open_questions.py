"""What an open question reads and counts: the question, its days, and how the answers fell."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from typing import NamedTuple

from sqlalchemy import Select, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenAnswerRow, OpenDayRow, OpenQuestionRow
from drillhall.store.models.pictures import PictureRow

Found = tuple[OpenQuestionRow, GroupRow, PairSetRow]


def find_question(db: Session, public_id: str) -> Found | None:
    """Return a question with its group and pair set, whatever has become of them, or None."""
    found = db.execute(_with_places().where(OpenQuestionRow.public_id == public_id)).first()
    return (found[0], found[1], found[2]) if found else None


def questions_of_group(db: Session, group_id: int) -> list[Found]:
    """Return a group's questions, the latest first."""
    query = _with_places().where(OpenQuestionRow.group_id == group_id).order_by(OpenQuestionRow.id.desc())
    return [(question, group, pair_set) for question, group, pair_set in db.execute(query)]


def days_before(db: Session, question_id: int, day: date, *, most: int) -> Sequence[OpenDayRow]:
    """Return what a question showed on the latest days before one, the latest first."""
    query = select(OpenDayRow).where(OpenDayRow.question_id == question_id, OpenDayRow.day < day)
    return db.scalars(query.order_by(OpenDayRow.day.desc()).limit(most)).all()


def answers_of_day(db: Session, question_id: int, day: date) -> dict[int, int]:
    """Return how often each form was said on a day, by the form's id."""
    query = select(OpenAnswerRow).where(OpenAnswerRow.question_id == question_id, OpenAnswerRow.day == day)
    return {row.said_form_id: row.times for row in db.scalars(query)}


class Said(NamedTuple):
    """What was said of a day's picture, and how often; `form_id` is what the picture is said to show now."""

    question_id: int
    day: date
    pair_id: int
    form_id: int | None
    said_form_id: int
    times: int


def all_answers(db: Session, question_ids: Collection[int]) -> list[Said]:
    """Return what was said to some questions on every day of theirs, the earliest first."""
    query = (
        select(
            OpenDayRow.question_id, OpenDayRow.day, OpenDayRow.pair_id, PictureRow.form_id, OpenAnswerRow.said_form_id, OpenAnswerRow.times
        )
        .join(OpenAnswerRow, (OpenAnswerRow.question_id == OpenDayRow.question_id) & (OpenAnswerRow.day == OpenDayRow.day))
        .join(PictureRow, PictureRow.id == OpenDayRow.picture_id)
        .where(OpenDayRow.question_id.in_(question_ids))
        .order_by(OpenDayRow.day, OpenDayRow.question_id)
    )
    return [Said(*row) for row in db.execute(query)]


def add_answer(db: Session, question_id: int, day: date, *, pair_id: int, picture_id: int, said_form_id: int) -> None:
    """Count one answer; the day's first one writes down its picture. Two at once are both counted."""
    insert = postgresql.insert if db.get_bind().dialect.name == "postgresql" else sqlite.insert
    shown = insert(OpenDayRow).values(question_id=question_id, day=day, pair_id=pair_id, picture_id=picture_id)
    db.execute(shown.on_conflict_do_nothing(index_elements=[OpenDayRow.question_id, OpenDayRow.day]))
    counted = insert(OpenAnswerRow).values(question_id=question_id, day=day, said_form_id=said_form_id, times=1)
    where = [OpenAnswerRow.question_id, OpenAnswerRow.day, OpenAnswerRow.said_form_id]
    db.execute(counted.on_conflict_do_update(index_elements=where, set_={"times": OpenAnswerRow.times + 1}))


def _with_places() -> Select[OpenQuestionRow, GroupRow, PairSetRow]:
    return (
        select(OpenQuestionRow, GroupRow, PairSetRow)
        .join(GroupRow, GroupRow.id == OpenQuestionRow.group_id)
        .join(PairSetRow, PairSetRow.id == OpenQuestionRow.pair_set_id)
    )
