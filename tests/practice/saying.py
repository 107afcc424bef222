"""Lets learners name pictures, row by row: for tests of what is read from many learners' answers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import count

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.concepts import PairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow

_numbers = count(1)


def add_learners(db: Session, how_many: int, *, at: datetime) -> list[int]:
    """Add accounts and return their ids."""
    rows = [
        AccountRow(name=f"Learner {number}", name_folded=f"learner {number}", passphrase_hash="none", zone="UTC", created_at=at)
        for number in (next(_numbers) for _ in range(how_many))
    ]
    db.add_all(rows)
    db.flush()
    return [row.id for row in rows]


def pictures_of(db: Session, form_id: int, use: str = "practice") -> list[int]:
    """Return the pictures of a form for one use, in order."""
    return list(db.scalars(select(PictureRow.id).where(PictureRow.form_id == form_id, PictureRow.use == use).order_by(PictureRow.id)))


def say(
    db: Session,
    catalogue_id: int,
    pair_id: int,
    picture_ids: Iterable[int],
    learners: Iterable[int],
    said: int | None = None,
    *,
    at: datetime,
    sure: str = "certain",
    hint: bool = False,
    prompted: bool = False,
    first_sight: bool = True,
    rendition: str = "as taken",
) -> None:
    """Let each learner name each picture, as it is labelled unless `said` says otherwise."""
    pair, pictures = db.get_one(PairRow, pair_id), list(picture_ids)
    labels = {row.id: row.form_id for row in db.scalars(select(PictureRow).where(PictureRow.id.in_(pictures)))}
    choices = [str(pair.first_form_id), str(pair.second_form_id), "0"]
    for learner in learners:
        drill = DrillRow(id=f"drill-{next(_numbers)}", account_id=learner, zone="UTC", planned_at=at, planned_day=at.date())
        drill.until, drill.minutes, drill.showing_ms, drill.pace_ms = at + timedelta(days=1), 10, 9000, 4000
        db.add(drill)
        db.flush()
        logged = RoundRow(
            drill_id=drill.id, account_id=learner, pair_id=pair_id, catalogue_id=catalogue_id, place=0, why="due", rounds_before=0
        )
        db.add(logged)
        db.flush()
        for place, picture_id in enumerate(pictures):
            label = labels[picture_id]
            key = str(label) if str(label) in choices else "0"
            showing = ShowingRow(round_id=logged.id, account_id=learner, place=place, picture_id=picture_id, form_id=label)
            showing.first_sight, showing.fresh, showing.prompted, showing.rendition = first_sight, first_sight, prompted, rendition
            showing.asks = [{"kind": "form", "choices": choices, "key": key, "trait": None}]
            db.add(showing)
            db.flush()
            answer = AnswerRow(id=f"answer-{next(_numbers)}", showing_id=showing.id, account_id=learner, ask=0, sure=sure, seconds=4.0)
            answer.said, answer.hint = key if said is None else str(said), hint
            answer.at = answer.phone_at = answer.received_at = at
            db.add(answer)
    db.flush()
