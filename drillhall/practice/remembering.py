"""Turns a stored memory into a plain value, and says by which numbers a learner's rounds are folded."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

from sqlalchemy import Row
from sqlalchemy.orm import Session

from drillhall.core.memory import USUAL_PARAMETERS, Parameters
from drillhall.core.values import Memory, Outcome
from drillhall.store.models.practice import MemoryRow
from drillhall.store.queries import batch

_OUTCOMES: Final = {outcome.value: outcome for outcome in Outcome}


def memory_of(row: MemoryRow | Row[Any]) -> Memory:
    """Return a stored memory as a plain value; the row is of the table, mapped or not."""
    return Memory(
        stability_days=row.stability_days,
        difficulty=row.difficulty,
        last_day=row.last_day,
        rounds=row.rounds,
        held_running=row.held_running,
        last=_OUTCOMES[row.last_outcome],
    )


def memories_of(rows: Iterable[Any]) -> dict[int, Memory]:
    """Return stored memories as plain values, by pair; the rows are those of `learner.memories`."""
    return {pair_id: Memory(days, hard, day, rounds, held, _OUTCOMES[last]) for pair_id, _, days, hard, day, rounds, held, last in rows}


def parameters_of(db: Session, account_id: int) -> Parameters:
    """Return the numbers by which a learner's rounds are folded now: those she has taken, else the usual ones."""
    return parameters_in(batch.taken_parameters(db, account_id))


def parameters_in(taken: Sequence[float] | None) -> Parameters:
    """Return the numbers by which rounds are folded, be they hers, or None for the usual ones."""
    return USUAL_PARAMETERS if taken is None else tuple(taken)
