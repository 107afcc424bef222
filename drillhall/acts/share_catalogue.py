"""Lets somebody else write a catalogue, found by the name of her account."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.catalogues.editing.changing import Opened
from drillhall.catalogues.editing.making import Steward, give_stewardship
from drillhall.errors import Invalid, NotFound
from drillhall.people import audit
from drillhall.people.accounts import the_person_called
from drillhall.words import say


def add_steward_by_name(db: Session, opened: Opened, name: str, *, by: int, at: datetime) -> None:
    """Make the account of that name a steward; raises Invalid where there is none, Conflict where she is one already."""
    try:
        found = the_person_called(db, name)
    except NotFound as error:  # whose words are for a terminal
        raise Invalid(say("Nobody in this hall has that name. Write it as it is used to sign in."), field="name") from error
    give_stewardship(db, opened, Steward(found.id, found.name), by=by, at=at)
    audit.note(db, "steward added", at=at, by=by, subject=f"account {found.id}, {opened.said.key}")
