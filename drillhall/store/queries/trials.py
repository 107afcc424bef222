"""What is read of trials: the drills of one round by which a learner shows that she knows a pair."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow


def open_trial(db: Session, account_id: int, pair_id: int, *, now: datetime) -> str | None:
    """Return the id of the learner's latest trial of a pair that is not too old, or None."""
    query = (
        select(DrillRow.id)
        .join(RoundRow, RoundRow.drill_id == DrillRow.id)
        .where(DrillRow.account_id == account_id, DrillRow.is_trial, RoundRow.pair_id == pair_id, DrillRow.until > now)
        .order_by(DrillRow.planned_at.desc())
        .limit(1)
    )
    return db.scalars(query).first()


def the_trial(db: Session, account_id: int, drill_id: str) -> tuple[RoundRow, Sequence[ShowingRow]] | None:
    """Return the round of a learner's trial with its showings in order, or None."""
    query = select(RoundRow).join(DrillRow, DrillRow.id == RoundRow.drill_id)
    logged = db.scalars(query.where(DrillRow.id == drill_id, DrillRow.account_id == account_id, DrillRow.is_trial)).first()
    if logged is None:
        return None
    return logged, db.scalars(select(ShowingRow).where(ShowingRow.round_id == logged.id).order_by(ShowingRow.place)).all()
