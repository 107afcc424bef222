"""Invitations: links by which somebody may join the hall, each with an end and a number of places."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.errors import Invalid, NotAllowed, NotFound
from drillhall.people import audit, hall
from drillhall.people.accounts import make_account
from drillhall.people.person import Person, Preferences
from drillhall.people.tokens import hash_token, make_token
from drillhall.store.models.people import InvitationRow

DAYS: Final = 14
MOST_DAYS: Final = 90
MOST_PLACES: Final = 200


@dataclass(frozen=True, slots=True)
class Invitation:
    """An invitation as the keeper sees it; the link itself is shown once, when it is made."""

    id: int
    note: str
    made_at: datetime
    until: datetime
    places: int
    taken: int
    ended_at: datetime | None

    def is_good(self, at: datetime) -> bool:
        """Whether somebody may still join by it."""
        return self.ended_at is None and self.until > at and self.taken < self.places


def invite(db: Session, *, by: Person, at: datetime, places: int = 1, days: int = DAYS, note: str = "") -> str:
    """Make an invitation and return its token, which is stored nowhere."""
    if not 1 <= places <= MOST_PLACES:
        raise Invalid(f"An invitation has from 1 to {MOST_PLACES} places.", field="places")
    if not 1 <= days <= MOST_DAYS:
        raise Invalid(f"An invitation holds from 1 to {MOST_DAYS} days.", field="days")
    if len(note) > 120:
        raise Invalid("The note may have 120 letters at most.", field="note")
    token = make_token()
    row = InvitationRow(
        token_hash=hash_token(token), made_by=by.id, note=note.strip(), made_at=at, until=at + timedelta(days=days), places=places
    )
    db.add(row)
    db.flush()
    audit.note(db, "invitation made", at=at, by=by.id, subject=f"invitation {row.id}, {places} places")
    return token


def list_invitations(db: Session) -> tuple[Invitation, ...]:
    """Return every invitation, the newest first."""
    rows = db.scalars(select(InvitationRow).order_by(InvitationRow.made_at.desc(), InvitationRow.id.desc()))
    return tuple(_shown(row) for row in rows)


def the_invitation(db: Session, token: str, *, at: datetime) -> Invitation:
    """Return a good invitation by its token, or raise NotFound."""
    row = db.scalar(select(InvitationRow).where(InvitationRow.token_hash == hash_token(token)))
    if row is None or not _shown(row).is_good(at):
        raise NotFound("This invitation does not work, or no longer: it is over, all its places are taken, or it was copied short.")
    return _shown(row)


def end_invitation(db: Session, invitation_id: int, *, by: Person, at: datetime) -> None:
    """End an invitation before its time; whoever has joined by it stays."""
    row = db.get(InvitationRow, invitation_id)
    if row is None:
        raise NotFound("There is no such invitation.")
    row.ended_at = row.ended_at or at
    audit.note(db, "invitation ended", at=at, by=by.id, subject=f"invitation {row.id}")


def join(db: Session, token: str, *, name: str, passphrase: str, at: datetime, preferences: Preferences | None = None) -> Person:
    """Take a place of an invitation and make an account; of two who want the last place, one gets it."""
    invitation = the_invitation(db, token, at=at)
    row = InvitationRow
    taken = update(row).where(row.id == invitation.id, row.taken < row.places, row.ended_at.is_(None)).values(taken=row.taken + 1)
    if db.execute(taken.returning(row.id)).one_or_none() is None:
        raise NotFound("The last place of this invitation was taken just now. Ask for another one.")
    return make_account(db, name=name, passphrase=passphrase, at=at, preferences=preferences)


def join_openly(db: Session, *, name: str, passphrase: str, at: datetime, preferences: Preferences | None = None) -> Person:
    """Make an account without an invitation, where the keeper has opened the hall, or raise NotAllowed."""
    if not hall.is_open(db):
        raise NotAllowed("This hall is joined by invitation. Ask whoever told you of it for a link.")
    return make_account(db, name=name, passphrase=passphrase, at=at, preferences=preferences)


def _shown(row: InvitationRow) -> Invitation:
    return Invitation(row.id, row.note, row.made_at, row.until, row.places, row.taken, row.ended_at)
