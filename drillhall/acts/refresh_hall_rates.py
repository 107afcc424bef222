"""Sums the hall's rates of mix-up anew."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.practice import hall_rates


def refresh_hall_rates(db: Session, *, at: datetime) -> int:
    """Sum how often everybody misses what, as of a moment; return how many directions of pairs that is."""
    return hall_rates.refresh_hall_rates(db, today=at.date())
