"""Changes what somebody has set for herself, and what follows from it in her practice."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.people import accounts
from drillhall.people.person import Person, Preferences
from drillhall.practice.folding import rewrite_due_days


def change_preferences(db: Session, person: Person, wishes: Preferences, *, at: datetime) -> None:
    """Store somebody's wishes, and let her pairs fall due by the new target recall; raises Invalid naming the field."""
    accounts.set_preferences(db, person, wishes, at=at)
    rewrite_due_days(db, person.id)
