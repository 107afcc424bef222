"""Groups: making one, who is in it, leaving, handing over, ending a membership and archiving."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import audit
from drillhall.people.group import HEADS, MEMBER, ROLE_WORDS, Group, head_of
from drillhall.people.person import Person
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.words import Said, say

KINDS: Final = ("club", "class")
LONGEST_TITLE: Final = 120


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody in a group; `id` names her membership, not her account; `is_you` is whoever asks."""

    id: int
    name: str
    role: str
    since: datetime
    is_you: bool

    @property
    def is_head(self) -> bool:
        """Whether she leads it."""
        return self.role in HEADS

    @property
    def role_word(self) -> Said:
        """Her role in it, for a page."""
        return ROLE_WORDS[self.role]


@dataclass(frozen=True, slots=True)
class ListedGroup:
    """A group in the list of whoever is in it, and how many people are."""

    group: Group
    people: int


def make_group(db: Session, *, by: Person, title: str, kind: str, is_paid: bool, public_id: str, at: datetime) -> Group:
    """Make a group, led by whoever makes it."""
    said = " ".join(title.split())
    if not said:
        raise Invalid(say("Give the group a name."), field="title")
    if len(said) > LONGEST_TITLE:
        raise Invalid(say("The name may have {longest_title} letters at most.", longest_title=LONGEST_TITLE), field="title")
    if kind not in KINDS:
        raise Invalid(say("Choose whether it is a club or a class."), field="kind")
    row = GroupRow(public_id=public_id, title=said, kind=kind, is_paid=is_paid, made_at=at)
    db.add(row)
    db.flush()
    add_member(db, row.id, by.id, role=head_of(kind), at=at)
    return Group(row.id, row.public_id, row.title, row.kind, row.is_paid, None, head_of(kind))


def add_member(db: Session, group_id: int, account_id: int, *, at: datetime, role: str = MEMBER) -> None:
    """Let somebody into a group; raise Conflict where she is in it already."""
    if _running(db, group_id, account_id) is not None:
        raise Conflict(say("You are in this group already."))
    db.add(MembershipRow(group_id=group_id, account_id=account_id, role=role, since=at))
    db.flush()


def list_groups(db: Session, person: Person) -> tuple[ListedGroup, ...]:
    """Return the groups that somebody is in, those in use first, then by title."""
    people = (
        select(func.count())
        .select_from(MembershipRow)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.group_id == GroupRow.id, MembershipRow.until.is_(None), AccountRow.retired_at.is_(None))
        .correlate(GroupRow)
        .scalar_subquery()
    )
    query = (
        select(GroupRow, MembershipRow.role, people)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(MembershipRow.account_id == person.id, MembershipRow.until.is_(None))
        .order_by(GroupRow.retired_at.is_not(None), GroupRow.title, GroupRow.id)
    )
    return tuple(
        ListedGroup(Group(row.id, row.public_id, row.title, row.kind, row.is_paid, row.retired_at, role), int(count))
        for row, role, count in db.execute(query)
    )


def list_members(db: Session, group: Group, *, asks: Person) -> tuple[Member, ...]:
    """Return who is in a group now: those who lead it first, then by name."""
    query = (
        select(MembershipRow, AccountRow.name)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.group_id == group.id, MembershipRow.until.is_(None), AccountRow.retired_at.is_(None))
        .order_by(MembershipRow.role == MEMBER, AccountRow.name_folded)
    )
    return tuple(Member(row.id, name, row.role, row.since, row.account_id == asks.id) for row, name in db.execute(query))


def leave(db: Session, group: Group, *, by: Person, at: datetime) -> None:
    """End one's own membership; whoever is the last to lead it must hand over first, or archive it where nobody else is in it."""
    _lock(db, group)
    row = _running(db, group.id, by.id)
    if row is None:
        raise NotFound(say("You are not in this group any more."))
    _keep_a_head(db, group, without=row)
    row.until = at
    audit.note(db, "group left", at=at, by=by.id, subject=f"group {group.id}")


def end_membership(db: Session, group: Group, membership_id: int, *, by: Person, at: datetime) -> None:
    """End somebody else's membership."""
    _lock(db, group)
    row = _the_membership(db, group, membership_id)
    if row.account_id == by.id:
        raise Conflict(say("That is you. Leave the group instead."))
    _keep_a_head(db, group, without=row)
    row.until = at
    audit.note(db, "membership ended", at=at, by=by.id, subject=f"group {group.id}, account {row.account_id}")


def make_head(db: Session, group: Group, membership_id: int, *, by: Person, at: datetime) -> None:
    """Let a member lead the group beside whoever does; her time as a member ends, her time as a leader begins."""
    _lock(db, group)
    row = _the_membership(db, group, membership_id)
    if row.role in HEADS:
        raise Conflict(say("She is {head} already.", head=group.head_word))
    _change_role(db, row, group.head, at=at)
    audit.note(db, f"made {group.head}", at=at, by=by.id, subject=f"group {group.id}, account {row.account_id}")


def step_down(db: Session, group: Group, *, by: Person, at: datetime) -> None:
    """Stop leading a group and stay in it as a member; somebody else must lead it by then."""
    _lock(db, group)
    row = _running(db, group.id, by.id)
    if row is None or row.role not in HEADS:
        raise Conflict(say("You do not lead this group any more."))
    _keep_a_head(db, group, without=row)
    _change_role(db, row, MEMBER, at=at)
    audit.note(db, f"no longer {group.head}", at=at, by=by.id, subject=f"group {group.id}")


def let_see(db: Session, group: Group, *, by: Person, lets: bool) -> None:
    """Say whether whoever leads a club may see one's own progress by name; it holds for this group alone."""
    row = _running(db, group.id, by.id)
    if row is None or row.role in HEADS:
        raise Conflict(say("This is for those who learn in the group."))
    row.lets_leader_see = lets


def lets_see(db: Session, group: Group, person: Person) -> bool:
    """Whether somebody lets whoever leads a group see her progress by name."""
    row = _running(db, group.id, person.id)
    return row is not None and row.lets_leader_see


def archive(db: Session, group: Group, *, by: Person, at: datetime) -> None:
    """Archive a group: it stays readable to its people; nothing shared with it is shown, and its links let nobody in."""
    row = db.get_one(GroupRow, group.id)
    row.retired_at = row.retired_at or at
    audit.note(db, "group archived", at=at, by=by.id, subject=f"group {group.id}")


def open_again(db: Session, group: Group, *, by: Person, at: datetime) -> None:
    """Take a group out of the archive as it was."""
    db.get_one(GroupRow, group.id).retired_at = None
    audit.note(db, "group opened again", at=at, by=by.id, subject=f"group {group.id}")


def _lock(db: Session, group: Group) -> None:
    """Let one change of who is in a group happen at a time, else two leaders could step down past each other."""
    db.execute(select(GroupRow.id).where(GroupRow.id == group.id).with_for_update())


def _running(db: Session, group_id: int, account_id: int) -> MembershipRow | None:
    query = select(MembershipRow).where(
        MembershipRow.group_id == group_id, MembershipRow.account_id == account_id, MembershipRow.until.is_(None)
    )
    return db.scalar(query)


def _the_membership(db: Session, group: Group, membership_id: int) -> MembershipRow:
    row = db.get(MembershipRow, membership_id)
    if row is None or row.group_id != group.id or row.until is not None:
        raise NotFound(say("Nobody by that number is in this group any more."))
    return row


def _keep_a_head(db: Session, group: Group, *, without: MembershipRow) -> None:
    """Raise Conflict where nobody with an account in use would lead the group without one membership, archived with others in it or not."""
    others = (
        select(MembershipRow.role)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(
            MembershipRow.group_id == group.id,
            MembershipRow.until.is_(None),
            MembershipRow.id != without.id,
            AccountRow.retired_at.is_(None),
        )
    )
    roles = set(db.scalars(others))
    if without.role not in HEADS or roles & HEADS or (group.retired_at is not None and not roles):
        return
    if not roles:
        way = say("Archive the group first.")
    elif group.retired_at is not None:
        way = say("Open it again and make somebody else {head} first.", head=group.head_word)
    else:
        way = say("Make somebody else {head} first.", head=group.head_word)
    raise Conflict(say("A group is never without a {head}. {way}", head=group.head_word, way=way))


def _change_role(db: Session, row: MembershipRow, role: str, *, at: datetime) -> None:
    row.until = at
    db.flush()  # the one time must end before the next begins: of running ones there is one a person
    db.add(MembershipRow(group_id=row.group_id, account_id=row.account_id, role=role, since=at, lets_leader_see=row.lets_leader_see))
    db.flush()
