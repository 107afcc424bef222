"""Lets somebody else write a catalogue, found by the name of her account."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.catalogues.editing.changing import Opened
from drillhall.catalogues.editing.making import Steward, give_stewardship
from drillhall.errors import Invalid
from drillhall.people import audit
from drillhall.people.accounts import list_accounts
from drillhall.people.names import fold_name
from drillhall.words import say


def add_steward_by_name(db: Session, opened: Opened, name: str, *, by: int, at: datetime) -> None:
    """Make the account of that name a steward; raises Invalid where there is none, Conflict where she is one already."""
    wanted = fold_name(name)
    found = next((one for one in list_accounts(db) if one.retired_at is None and fold_name(one.name) == wanted), None)
    if found is None:
        raise Invalid(say("Nobody in this hall has that name. Write it as it is used to sign in."), field="name")
    give_stewardship(db, opened, Steward(found.id, found.name), by=by, at=at)
    audit.note(db, "steward added", at=at, by=by, subject=f"account {found.id}, {opened.said.key}")
