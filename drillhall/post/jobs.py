"""What recurs: whose turn it is is written down, so that of several workers one does it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from drillhall.store.models.post import JobRow


@dataclass(frozen=True, slots=True)
class JobState:
    """How a job stands; `fault` is the kind of error that its last run ended with, or empty."""

    name: str
    ran_at: datetime | None
    due_at: datetime
    fault: str


def list_waiting(db: Session, names: Sequence[str], *, at: datetime) -> tuple[str, ...]:
    """Return those jobs that are due, those never run included; reads only."""
    later = set(db.scalars(select(JobRow.name).where(JobRow.due_at > at)))
    return tuple(name for name in names if name not in later)


def take_turn(db: Session, name: str, *, every: timedelta, at: datetime) -> bool:
    """Take a job's turn, its next one being `every` later; False where another worker has it. Commit before it runs."""
    insert = postgresql.insert if db.get_bind().dialect.name == "postgresql" else sqlite.insert
    fresh = insert(JobRow).values(name=name, due_at=at, fault="")
    db.execute(fresh.on_conflict_do_nothing(index_elements=[JobRow.name]))
    mine = (
        update(JobRow).where(JobRow.name == name, JobRow.due_at <= at).values(due_at=at + every, ran_at=at, fault="").returning(JobRow.name)
    )
    return db.execute(mine).one_or_none() is not None


def note_fault(db: Session, name: str, fault: str) -> None:
    """Note how a run ended that did not go well."""
    db.execute(update(JobRow).where(JobRow.name == name).values(fault=fault[:160]))


def list_jobs(db: Session) -> tuple[JobState, ...]:
    """Return how the jobs stand, by name."""
    return tuple(JobState(row.name, row.ran_at, row.due_at, row.fault) for row in db.scalars(select(JobRow).order_by(JobRow.name)))
