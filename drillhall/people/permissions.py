"""Who may do what: one table, and the one function that asks it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people.person import Person
from drillhall.store.models.catalogue import StewardRow


class Role(StrEnum):
    """What somebody is towards the hall or a thing in it; roles add up."""

    VISITOR = "visitor"
    ACCOUNT = "account"
    STEWARD = "steward"
    KEEPER = "keeper"


_ALL = frozenset(Role)
_SIGNED_IN = frozenset({Role.ACCOUNT, Role.STEWARD, Role.KEEPER})

MAY: Final[Mapping[str, frozenset[Role]]] = MappingProxyType(
    {
        "enter": _ALL,  # sign in, join by a link, the first run, what pages are made of
        "own account": _SIGNED_IN,
        "own drill": _SIGNED_IN,
        "own standing": _SIGNED_IN,
        "own pictures": _SIGNED_IN,
        "see a picture": _SIGNED_IN,  # which one, its rights decide
        "take pairs from the shelf": _SIGNED_IN,
        "make a catalogue": _SIGNED_IN,
        "write a catalogue": frozenset({Role.STEWARD}),
        "keep the hall": frozenset({Role.KEEPER}),
    }
)
"""Action → roles that may. *Steward* counts towards her own catalogues alone: `the_stewarded` asks that."""


def roles_of(person: Person | None, *, is_steward: bool = False) -> frozenset[Role]:
    """Return what somebody is; None is a visitor who has not signed in."""
    if person is None:
        return frozenset({Role.VISITOR})
    roles = {Role.ACCOUNT}
    if person.is_keeper:
        roles.add(Role.KEEPER)
    if is_steward:
        roles.add(Role.STEWARD)
    return frozenset(roles)


def may(roles: frozenset[Role], action: str) -> bool:
    """Whether one of the roles may do the action; an action without a row is a fault of the program."""
    return not MAY[action].isdisjoint(roles)


def is_steward(db: Session, person: Person, catalogue_id: int | None = None) -> bool:
    """Whether somebody is steward of one catalogue, or of any when none is named."""
    query = select(StewardRow.catalogue_id).where(StewardRow.account_id == person.id)
    if catalogue_id is not None:
        query = query.where(StewardRow.catalogue_id == catalogue_id)
    return db.scalar(query.limit(1)) is not None


def the_stewarded(db: Session, person: Person, catalogue_id: int) -> int:
    """Return the id of a catalogue that the person may write, or raise NotFound, as if it were not there."""
    if not may(roles_of(person, is_steward=is_steward(db, person, catalogue_id)), "write a catalogue"):
        raise NotFound("There is no such catalogue, or it is not yours to write.")
    return catalogue_id
