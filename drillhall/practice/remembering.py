"""Turns a stored memory into a plain value."""

from __future__ import annotations

from drillhall.core.values import Memory, Outcome
from drillhall.store.models.practice import MemoryRow


def memory_of(row: MemoryRow) -> Memory:
    """Return a stored memory as a plain value."""
    return Memory(
        stability_days=row.stability_days,
        difficulty=row.difficulty,
        last_day=row.last_day,
        rounds=row.rounds,
        held_running=row.held_running,
        last=Outcome(row.last_outcome),
    )
