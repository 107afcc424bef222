"""What a test asks: its questions with their keys as they are now, and which of them count for nobody any more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.queries import field_tests as reading
from drillhall.store.queries.field_tests import QuestionRead


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its place from 1 on in the test as it was set, its picture, and `key`, the form that the picture is said to show now.

    `is_dropped`: it counts for nobody, since its picture was withdrawn while the test ran, or shows neither form by now.
    """

    id: int
    place: int
    pair_id: int
    picture_id: int
    key: int
    forms: tuple[int, int]
    is_dropped: bool


def the_questions(db: Session, test: FieldTestRow, *, is_paid: bool, at: datetime, is_sat: bool = False) -> tuple[Question, ...]:
    """Return a test's questions in their order.

    While it runs, or for whoever is sitting it (`is_sat`), a picture that may not be asked any more drops its question. What happens
    to a picture once the test is over changes no result, but for a corrected label, which corrects the key.
    """
    rows = reading.questions(db, test.id)
    gone: set[int] = set()
    if is_sat or at < test.until:
        ids = [row.picture.id for row in rows]
        gone = set(ids) - reading.ids_that_may_be_asked(db, test.catalogue_id, ids, is_paid=is_paid, on=at.date())
    return tuple(_question(row, test, gone) for row in rows)


def note_dropped(db: Session, questions: Sequence[Question], test: FieldTestRow, *, at: datetime) -> None:
    """Write down which questions are found dropped, so that they stay so for everybody."""
    dropped = {question.id for question in questions if question.is_dropped}
    for row in reading.questions(db, test.id) if dropped else ():
        if row.question.id in dropped and row.question.dropped_at is None:
            row.question.dropped_at = at


def _question(row: QuestionRead, test: FieldTestRow, gone: set[int]) -> Question:
    picture, forms = row.picture, (row.first_form_id, row.second_form_id)
    withdrawn = picture.retired_at is not None and picture.retired_at < test.until
    is_dropped = row.question.dropped_at is not None or withdrawn or picture.id in gone or picture.form_id not in forms
    return Question(
        id=row.question.id,
        place=row.question.place,
        pair_id=row.question.pair_id,
        picture_id=picture.id,
        key=picture.form_id or 0,
        forms=forms,
        is_dropped=is_dropped,
    )
