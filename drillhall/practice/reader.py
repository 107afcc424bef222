"""Whom something is told to: how she sees colours, by what she has told of it, and under which list she wishes names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.sight import USUAL_SIGHT, Sight, sight_told
from drillhall.store.models.people import AccountRow


@dataclass(frozen=True, slots=True)
class Reader:
    """One person as she reads; an empty `list_name` leaves names to the catalogue."""

    sight: Sight = USUAL_SIGHT
    list_name: str = ""


ANYBODY: Final = Reader()
"""Whoever has told nothing: a page for many, a printed one, a stranger."""


def reader_of(account: AccountRow) -> Reader:
    """Return a learner as she reads; what she has told of her eyes goes no further than her own pages."""
    return Reader(sight_told(account.colour_vision), account.list_name)


def names_for(db: Session, account_id: int) -> Reader:
    """Return somebody as a reader of what is told of others: in the names of her list, whatever she has told of her eyes."""
    return Reader(list_name=db.get_one(AccountRow, account_id).list_name)
