"""Changes what somebody has set for herself, and what follows from it in her practice."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.errors import Invalid
from drillhall.people import accounts
from drillhall.people.person import Person, Preferences
from drillhall.practice.folding import rewrite_due_days
from drillhall.practice.naming import known_lists
from drillhall.words import say


def change_preferences(db: Session, person: Person, wishes: Preferences, *, at: datetime) -> None:
    """Store somebody's wishes, and let her pairs fall due by the new target recall; raises Invalid naming the field."""
    if wishes.list_name and wishes.list_name not in known_lists(db):
        raise Invalid(say("The hall knows no name under that list. Choose one of those shown, or none."), field="list_name")
    accounts.set_preferences(db, person, wishes, at=at)
    rewrite_due_days(db, person.id)
