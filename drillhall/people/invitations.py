"""Invitations: links and short codes by which somebody may join the hall, or a group too, each with an end and so many places."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import ColumnElement, Select, select, update
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid, NotAllowed, NotFound
from drillhall.people import audit, groups, hall
from drillhall.people.accounts import make_account
from drillhall.people.group import Group
from drillhall.people.person import Person, Preferences
from drillhall.people.tokens import hash_code, hash_token, make_code, make_token
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import InvitationRow
from drillhall.words import say

DAYS: Final = 14
MOST_DAYS: Final = 90
MOST_PLACES: Final = 200
MOST_CODE_DAYS: Final = 14
"""A code is short, so it holds for less long than a link may."""


@dataclass(frozen=True, slots=True)
class Code:
    """A code as it was typed, where a link's token would do as well."""

    typed: str


@dataclass(frozen=True, slots=True)
class Made:
    """What lets people in, told once and stored nowhere; `code` is empty where none was asked for."""

    token: str
    code: str = ""


@dataclass(frozen=True, slots=True)
class Invitation:
    """An invitation as whoever made it sees it; the link itself is shown once, when it is made. `group` is the title of its group."""

    id: int
    note: str
    made_at: datetime
    until: datetime
    places: int
    taken: int
    ended_at: datetime | None
    group_id: int | None = None
    group: str = ""

    def is_good(self, at: datetime) -> bool:
        """Whether somebody may still join by it."""
        return self.ended_at is None and self.until > at and self.taken < self.places


def invite(db: Session, *, by: Person, at: datetime, places: int = 1, days: int = DAYS, note: str = "", group: Group | None = None) -> str:
    """Make an invitation to the hall, and to a group where one is given; return its token, which is stored nowhere."""
    return _make(db, by=by, at=at, places=places, days=days, note=note, group=group).token


def invite_to_group(db: Session, group: Group, *, by: Person, at: datetime, places: int, days: int, note: str, with_code: bool) -> Made:
    """Make an invitation to a group, where it is wanted with a short code to be typed beside its link."""
    if with_code and days > MOST_CODE_DAYS:
        raise Invalid(
            say("A code holds {most_code_days} days at most. Choose fewer, or make a link alone.", most_code_days=MOST_CODE_DAYS),
            field="days",
        )
    return _make(db, by=by, at=at, places=places, days=days, note=note, group=group, code=make_code() if with_code else "")


def _make(db: Session, *, by: Person, at: datetime, places: int, days: int, note: str, group: Group | None, code: str = "") -> Made:
    if not 1 <= places <= MOST_PLACES:
        raise Invalid(say("An invitation has from 1 to {most_places} places.", most_places=MOST_PLACES), field="places")
    if not 1 <= days <= MOST_DAYS:
        raise Invalid(say("An invitation holds from 1 to {most_days} days.", most_days=MOST_DAYS), field="days")
    if len(note) > 120:
        raise Invalid(say("The note may have 120 letters at most."), field="note")
    token = make_token()
    row = InvitationRow(
        token_hash=hash_token(token),
        code_hash=hash_code(code, key=hall.make_secret_key(db)) if code else None,
        made_by=by.id,
        group_id=group.id if group else None,
        note=note.strip(),
        made_at=at,
        until=at + timedelta(days=days),
        places=places,
    )
    db.add(row)
    db.flush()
    audit.note(db, "invitation made", at=at, by=by.id, subject=f"invitation {row.id}, {places} {'place' if places == 1 else 'places'}")
    return Made(token, code)


def list_invitations(db: Session, *, group: Group | None = None) -> tuple[Invitation, ...]:
    """Return the invitations to a group, or every invitation of the hall, the newest first."""
    query = _with_group().order_by(InvitationRow.made_at.desc(), InvitationRow.id.desc())
    if group is not None:
        query = query.where(InvitationRow.group_id == group.id)
    return tuple(_shown(row, of) for row, of in db.execute(query))


def the_invitation(db: Session, token: str | Code, *, at: datetime) -> Invitation:
    """Return a good invitation by its token or code, or raise NotFound; one to an archived group is none.

    A code that was never given, one that is over and one whose places are taken are told alike.
    """
    found = db.execute(_with_group().where(_opened_by(db, token))).first()
    if found is None or not _shown(*found).is_good(at) or (found[1] is not None and found[1].retired_at is not None):
        raise NotFound(say("This invitation does not work, or no longer: it is over, all its places are taken, or it was copied wrong."))
    return _shown(*found)


def end_invitation(db: Session, invitation_id: int, *, by: Person, at: datetime, group: Group | None = None) -> None:
    """End an invitation before its time, one to a group where it is given; whoever has joined by it stays."""
    row = db.get(InvitationRow, invitation_id)
    if row is None or (group is not None and row.group_id != group.id):
        raise NotFound(say("There is no such invitation."))
    row.ended_at = row.ended_at or at
    audit.note(db, "invitation ended", at=at, by=by.id, subject=f"invitation {row.id}")


def join(db: Session, token: str | Code, *, name: str, passphrase: str, at: datetime, preferences: Preferences | None = None) -> Person:
    """Take a place of an invitation, make an account, and join the group that it names."""
    invitation = _take_place(db, token, at=at)
    person = make_account(db, name=name, passphrase=passphrase, at=at, preferences=preferences)
    if invitation.group_id is not None:
        groups.add_member(db, invitation.group_id, person.id, at=at)
    return person


def join_group(db: Session, token: str | Code, *, person: Person, at: datetime) -> str:
    """Take a place of an invitation to a group for somebody who has an account; return the group's public id."""
    invitation = the_invitation(db, token, at=at)
    if invitation.group_id is None:
        raise NotFound(say("This invitation is to the hall, and you are in it already."))
    if is_in(db, invitation, person):  # asked first, so that no place is lost
        raise Conflict(say("You are in {group} already.", group=invitation.group))
    _take_place(db, token, at=at)
    groups.add_member(db, invitation.group_id, person.id, at=at)
    return db.get_one(GroupRow, invitation.group_id).public_id


def is_in(db: Session, invitation: Invitation, person: Person) -> bool:
    """Whether somebody is in the group of an invitation already."""
    query = select(MembershipRow.id).where(
        MembershipRow.group_id == invitation.group_id, MembershipRow.account_id == person.id, MembershipRow.until.is_(None)
    )
    return db.scalar(query) is not None


def join_openly(db: Session, *, name: str, passphrase: str, at: datetime, preferences: Preferences | None = None) -> Person:
    """Make an account without an invitation, where the keeper has opened the hall, or raise NotAllowed."""
    if not hall.is_open(db):
        raise NotAllowed(say("This hall is joined by invitation. Ask whoever told you of it for a link."))
    return make_account(db, name=name, passphrase=passphrase, at=at, preferences=preferences)


def _take_place(db: Session, token: str | Code, *, at: datetime) -> Invitation:
    """Take a place of a good invitation; of two who want the last one, one gets it."""
    invitation = the_invitation(db, token, at=at)
    row = InvitationRow
    taken = update(row).where(row.id == invitation.id, row.taken < row.places, row.ended_at.is_(None)).values(taken=row.taken + 1)
    if db.execute(taken.returning(row.id)).one_or_none() is None:
        raise NotFound(say("The last place of this invitation was taken just now. Ask for another one."))
    return invitation


def _opened_by(db: Session, token: str | Code) -> ColumnElement[bool]:
    if isinstance(token, Code):
        return InvitationRow.code_hash == hash_code(token.typed, key=hall.the_secret_key(db))
    return InvitationRow.token_hash == hash_token(token)


def _with_group() -> Select[InvitationRow, GroupRow]:
    return select(InvitationRow, GroupRow).outerjoin(GroupRow, GroupRow.id == InvitationRow.group_id)


def _shown(row: InvitationRow, group: GroupRow | None) -> Invitation:
    title = group.title if group is not None else ""
    return Invitation(row.id, row.note, row.made_at, row.until, row.places, row.taken, row.ended_at, row.group_id, title)
