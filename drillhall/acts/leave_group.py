"""Leaving a group, and taking back what one has shared with it, in one go."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.people import groups
from drillhall.people.group import Group
from drillhall.people.person import Person
from drillhall.pictures.shared import end_shares


def leave_group(db: Session, group: Group, *, by: Person, takes_back: bool, at: datetime) -> int:
    """End one's own membership and, where she takes them back, all her shares with the group; return how many pictures that were.

    Raises Conflict, and then nothing has changed, where nobody else leads it.
    """
    groups.leave(db, group, by=by, at=at)
    return end_shares(db, owner_id=by.id, group_id=group.id, at=at) if takes_back else 0
