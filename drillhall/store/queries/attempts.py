"""Counting tries so that two processes never lose one."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from drillhall.store.models.people import AttemptRow


def add_attempt(db: Session, subject: str, window_start: datetime) -> int:
    """Count one more try in the window and return how many there are now, this one included."""
    # Both engines know the same insert-or-add, by the same words, in a dialect of their own.
    insert = postgresql.insert if db.get_bind().dialect.name == "postgresql" else sqlite.insert
    row = insert(AttemptRow).values(subject=subject, window_start=window_start, count=1)
    counted = row.on_conflict_do_update(
        index_elements=[AttemptRow.subject, AttemptRow.window_start], set_={"count": AttemptRow.count + 1}
    ).returning(AttemptRow.count)
    return int(db.execute(counted).scalar_one())
