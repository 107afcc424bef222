"""Sets the scheduler's recall right by what the whole hall has held: fitted now and then by a job, so that a page reads one row."""

from __future__ import annotations

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from drillhall.core.forecast import Recalibration, RecalledRound, fit_recalibration
from drillhall.store.models.practice import RecalibrationRow
from drillhall.store.queries import ahead

THE_ONE = 1


def the_recalibration(db: Session) -> Recalibration | None:
    """Return the two numbers as they were last fitted, or None while the hall has too few rounds."""
    kept = db.execute(select(RecalibrationRow.intercept, RecalibrationRow.slope)).one_or_none()
    return None if kept is None else Recalibration(*kept)


def refresh_recalibration(db: Session) -> Recalibration | None:
    """Fit the two numbers to the hall's latest rated rounds and keep them; where there are too few, none are kept."""
    rounds = [RecalledRound(account_id, recalled, bool(held)) for account_id, its in ahead.recalled_rounds(db) for recalled, held in its]
    fitted = fit_recalibration(rounds)
    db.execute(delete(RecalibrationRow))
    if fitted is not None:
        db.add(RecalibrationRow(id=THE_ONE, intercept=fitted.intercept, slope=fitted.slope))
    db.flush()
    return fitted
