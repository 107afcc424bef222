"""Turns a stored memory into a plain value, and says by which numbers a learner's rounds are folded."""

from __future__ import annotations

from functools import cache
from typing import Any

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session

from drillhall.core.memory import USUAL_PARAMETERS, Parameters
from drillhall.core.values import Memory, Outcome
from drillhall.store.models.practice import MemoryRow, ParameterSetRow
from drillhall.store.queries.given import ACCOUNT


def memory_of(row: MemoryRow | Row[Any]) -> Memory:
    """Return a stored memory as a plain value; the row is of the table, mapped or not."""
    return Memory(
        stability_days=row.stability_days,
        difficulty=row.difficulty,
        last_day=row.last_day,
        rounds=row.rounds,
        held_running=row.held_running,
        last=Outcome(row.last_outcome),
    )


def parameters_of(db: Session, account_id: int) -> Parameters:
    """Return the numbers by which a learner's rounds are folded now: those she has taken, else the usual ones."""
    numbers = db.scalars(_taken_parameters(), {"account_id": account_id}).first()
    return USUAL_PARAMETERS if numbers is None else tuple(numbers)


@cache
def _taken_parameters() -> Select[list[float]]:
    return (
        select(ParameterSetRow.parameters)
        .where(ParameterSetRow.account_id == ACCOUNT, ParameterSetRow.taken_at.is_not(None), ParameterSetRow.ended_at.is_(None))
        .order_by(ParameterSetRow.taken_at.desc(), ParameterSetRow.id.desc())
        .limit(1)
    )
