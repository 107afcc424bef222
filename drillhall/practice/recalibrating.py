"""Sets the scheduler's recall right by what the whole hall has held, once there are rounds enough of learners enough."""

from __future__ import annotations

from sqlalchemy.orm import Session

from drillhall.core.forecast import Recalibration, RecalledRound, fit_recalibration
from drillhall.store.queries import ahead


def the_recalibration(db: Session) -> Recalibration | None:
    """Return the two numbers that fit the hall's latest rated rounds, or None while they are too few."""
    return fit_recalibration(
        [RecalledRound(account_id, recalled, bool(held)) for account_id, rounds in ahead.recalled_rounds(db) for recalled, held in rounds]
    )
