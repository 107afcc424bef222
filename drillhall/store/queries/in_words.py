"""What is read of drills in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from drillhall.core.in_words import WordRound
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.in_words import DescriptionRow, WordDrillRow


def rounds_in_words(db: Session, account_id: int) -> list[WordRound]:
    """Return what a learner's rounds in words came to, a row for each pair of each drill, in the order in which they were begun."""
    one = DescriptionRow
    query = (
        select(
            one.pair_id,
            WordDrillRow.day,
            func.count(one.said_form_id),
            func.sum(case((one.said_form_id != one.form_id, 1), else_=0)),
            func.sum(case((one.sure == "possible", 1), else_=0)),
        )
        .join(WordDrillRow, WordDrillRow.id == one.drill_id)
        .where(one.account_id == account_id, one.said_form_id.is_not(None))
        .group_by(one.drill_id, one.pair_id, WordDrillRow.day, WordDrillRow.made_at)
        .order_by(WordDrillRow.made_at, one.drill_id, one.pair_id)
    )
    return [WordRound(pair, day, answered, int(missed), int(possible)) for pair, day, answered, missed, possible in db.execute(query)]


def open_word_drill(db: Session, account_id: int, *, day: date) -> str:
    """Return the latest drill in words of a learner's day if a bird of it is still asked for; else an empty text."""
    latest = (
        select(WordDrillRow.id)
        .where(WordDrillRow.account_id == account_id, WordDrillRow.day == day)
        .order_by(WordDrillRow.made_at.desc(), WordDrillRow.id.desc())
        .limit(1)
    )
    drill_id = db.scalar(latest)
    asked = select(DescriptionRow.id).where(DescriptionRow.drill_id == drill_id, DescriptionRow.said_form_id.is_(None)).limit(1)
    return drill_id if drill_id and db.scalar(asked) else ""


def forms_of_pair(db: Session, pair_id: int) -> tuple[int, int]:
    """Return the ids of a pair's two forms."""
    row = db.get_one(PairRow, pair_id)
    return row.first_form_id, row.second_form_id


def descriptions_of(db: Session, drill_id: str) -> Sequence[DescriptionRow]:
    """Return the birds of a drill in words in the order in which they are told."""
    return db.scalars(select(DescriptionRow).where(DescriptionRow.drill_id == drill_id).order_by(DescriptionRow.place)).all()
