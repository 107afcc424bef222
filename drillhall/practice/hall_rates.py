"""Keeps the hall's rates of mix-up: summed now and then by a job, so that planning a drill reads a few rows whoever drills besides."""

from __future__ import annotations

from datetime import date

from sqlalchemy import delete
from sqlalchemy.orm import Session

from drillhall.core.confusion import week_of
from drillhall.practice.skill import REMEMBERED
from drillhall.store.models.practice import HallRateRow
from drillhall.store.queries import hall_rates


def refresh_hall_rates(db: Session, *, today: date) -> int:
    """Sum how often everybody has missed each direction of each pair over the last year; return how many directions that is.

    The rates are no part of history: whoever is answering meanwhile is counted the next time.
    """
    rows = hall_rates.sum_misses(db, since_week=week_of(today - REMEMBERED))
    db.execute(delete(HallRateRow))
    db.add_all(HallRateRow(pair_id=pair_id, shown_form_id=form_id, missed=missed, shown=shown) for pair_id, form_id, missed, shown in rows)
    db.flush()
    return len(rows)
