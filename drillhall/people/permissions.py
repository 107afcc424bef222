"""Who may do what: one table, and the one function that asks it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, NotAllowed, NotFound
from drillhall.people.group import Group
from drillhall.people.person import Person
from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.words import say


class Role(StrEnum):
    """What somebody is towards the hall or a thing in it; roles add up."""

    VISITOR = "visitor"
    ACCOUNT = "account"
    MEMBER = "member"
    LEADER = "leader"
    TEACHER = "teacher"
    STEWARD = "steward"
    KEEPER = "keeper"


_ALL = frozenset(Role)
_SIGNED_IN = _ALL - {Role.VISITOR}

MAY: Final[Mapping[str, frozenset[Role]]] = MappingProxyType(
    {
        "enter": _ALL,  # sign in, join by a link, the first run, what pages are made of
        "answer an open question": _ALL,
        "own account": _SIGNED_IN,
        "own drill": _SIGNED_IN,
        "own standing": _SIGNED_IN,
        "own pictures": _SIGNED_IN,
        "see a picture": _SIGNED_IN,  # which one, its rights decide
        "take pairs from the shelf": _SIGNED_IN,
        "make a catalogue": _SIGNED_IN,
        "make or join a group": _SIGNED_IN,
        "see a group": frozenset({Role.MEMBER, Role.LEADER, Role.TEACHER}),
        "lead a group": frozenset({Role.LEADER, Role.TEACHER}),
        "see weak spots in sum": frozenset({Role.MEMBER, Role.LEADER, Role.TEACHER}),
        "see weak spots by name": frozenset({Role.LEADER, Role.TEACHER}),  # a leader: of those alone who agreed
        "keep a roster": frozenset({Role.TEACHER}),
        "give a passphrase": frozenset({Role.LEADER, Role.TEACHER}),  # to whom, `roster.may_be_given` says
        "write a catalogue": frozenset({Role.STEWARD}),
        "keep the hall": frozenset({Role.KEEPER}),
    }
)
"""Action → roles that may.

*Steward* counts towards her own catalogues alone: `the_stewarded` asks that; *member*, *leader* and *teacher* count inside their
own groups alone: `the_group` and `the_led_group` ask that.
"""


def roles_of(person: Person | None, *, is_steward: bool = False, in_groups: frozenset[Role] = frozenset()) -> frozenset[Role]:
    """Return what somebody is; None is a visitor who has not signed in."""
    if person is None:
        return frozenset({Role.VISITOR})
    roles = {Role.ACCOUNT, *in_groups}
    if person.is_keeper:
        roles.add(Role.KEEPER)
    if is_steward:
        roles.add(Role.STEWARD)
    return frozenset(roles)


def may(roles: frozenset[Role], action: str) -> bool:
    """Whether one of the roles may do the action; an action without a row is a fault of the program."""
    return not MAY[action].isdisjoint(roles)


def is_over_others(action: str) -> bool:
    """Whether an action is on what is others': one that neither everybody with an account nor every member of a group may."""
    return MAY[action].isdisjoint({Role.VISITOR, Role.ACCOUNT, Role.MEMBER})


def is_steward(db: Session, person: Person, catalogue_id: int | None = None) -> bool:
    """Whether somebody is steward of one catalogue, or of any when none is named."""
    query = select(StewardRow.catalogue_id).where(StewardRow.account_id == person.id)
    if catalogue_id is not None:
        query = query.where(StewardRow.catalogue_id == catalogue_id)
    return db.scalar(query.limit(1)) is not None


def the_stewarded(db: Session, person: Person, catalogue_id: int) -> int:
    """Return the id of a catalogue that the person may write, or raise NotFound, as if it were not there."""
    if not may(roles_of(person, is_steward=is_steward(db, person, catalogue_id)), "write a catalogue"):
        raise NotFound(say("There is no such catalogue, or it is not yours to write."))
    return catalogue_id


def roles_in_groups(db: Session, person: Person) -> frozenset[Role]:
    """Return what somebody is in any of her groups."""
    query = select(MembershipRow.role).where(MembershipRow.account_id == person.id, MembershipRow.until.is_(None)).distinct()
    return frozenset(Role(role) for role in db.scalars(query))


def the_group(db: Session, person: Person, public_id: str) -> Group:
    """Return a group that somebody is in, archived or not, or raise NotFound, as if it were not there."""
    query = (
        select(GroupRow, MembershipRow.role)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(GroupRow.public_id == public_id, MembershipRow.account_id == person.id, MembershipRow.until.is_(None))
    )
    found = db.execute(query).first()
    if found is None:
        raise NotFound(say("There is no such group, or you are not in it."))
    row, role = found
    return Group(row.id, row.public_id, row.title, row.kind, row.is_paid, row.retired_at, role)


def the_led_group(db: Session, person: Person, public_id: str, *, archived: bool = False) -> Group:
    """Return a group that somebody leads; raise NotFound where she is not in it, NotAllowed where she does not lead it.

    An archived one raises Conflict unless `archived` says that it will do.
    """
    group = the_group(db, person, public_id)
    if not may(roles_of(person, in_groups=frozenset({Role(group.role)})), "lead a group"):
        raise NotAllowed(say("Only a {head} of {title} may do this.", head=group.head_word, title=group.title))
    if group.retired_at is not None and not archived:
        raise Conflict(say("{title} is archived. Open it again first.", title=group.title))
    return group


def the_taught_class(db: Session, person: Person, public_id: str, *, archived: bool = False) -> Group:
    """Return a class that somebody teaches; a club has no roster, so it raises NotFound; else as `the_led_group`."""
    group = the_led_group(db, person, public_id, archived=archived)
    if not may(roles_of(person, in_groups=frozenset({Role(group.role)})), "keep a roster"):
        raise NotFound(say("Only a class has a list of its pupils. A club is joined by link or code."))
    return group
