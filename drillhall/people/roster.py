"""The list of a class: kept as a draft, shown, and carried out; whoever is gone from it rests and may come back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, NotAllowed, NotFound
from drillhall.people import audit, groups, roster_slips
from drillhall.people.group import HEADS, MEMBER, Group
from drillhall.people.names import fold_name
from drillhall.people.person import Person
from drillhall.people.pupils import made_under
from drillhall.people.roster_plan import OnList, Plan, by_account, make_plan, placed
from drillhall.people.roster_rows import Entry
from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.post import AddressRow
from drillhall.store.models.rosters import GivenPassphraseRow, RosterDraftRow, RosterPlaceRow
from drillhall.words import say

KEPT: Final = timedelta(days=1)
"""How long a list waits to be confirmed."""
NO_RESET: Final = say(
    "You may give a new passphrase to those who came into the hall by a group of yours and have no other way to one: not to whoever had an "
    "account before, has a mail address of her own, leads a group, writes a catalogue or keeps the hall. The keeper gives one to anybody."
)


@dataclass(frozen=True, slots=True)
class Standing:
    """Somebody on the list of a class; `id` names her membership, 0 while she rests; `waits`: her slip is not used yet."""

    id: int
    account_id: int
    name: str
    code: str
    waits: bool
    slip_over: bool


@dataclass(frozen=True, slots=True)
class Roster:
    """The list of a class: who is on it, who rests, and whether a new list waits to be confirmed."""

    present: tuple[Standing, ...]
    resting: tuple[Standing, ...]
    has_draft: bool


def the_roster(db: Session, group: Group, *, at: datetime) -> Roster:
    """Return the list of a class as it stands."""
    query = (
        select(AccountRow, RosterPlaceRow.code, MembershipRow.id, GivenPassphraseRow)
        .join(RosterPlaceRow, RosterPlaceRow.account_id == AccountRow.id)
        .outerjoin(
            MembershipRow,
            (MembershipRow.account_id == AccountRow.id) & (MembershipRow.group_id == group.id) & MembershipRow.until.is_(None),
        )
        .outerjoin(GivenPassphraseRow, GivenPassphraseRow.account_id == AccountRow.id)
        .where(RosterPlaceRow.group_id == group.id, AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded)
    )
    told = [
        Standing(member_id or 0, account.id, account.name, code, given is not None, given is not None and given.until <= at)
        for account, code, member_id, given in db.execute(query)
    ]
    present, resting = tuple(one for one in told if one.id), tuple(one for one in told if not one.id)
    return Roster(present, resting, _find_draft(db, group, at=at) is not None)


def keep_draft(db: Session, group: Group, entries: Sequence[Entry], *, by: Person, at: datetime) -> None:
    """Keep a list until it is confirmed, in place of the one before; lists that nobody confirmed in a day go."""
    db.execute(delete(RosterDraftRow).where((RosterDraftRow.group_id == group.id) | (RosterDraftRow.made_at <= at - KEPT)))
    db.add(RosterDraftRow(group_id=group.id, made_by=by.id, made_at=at, entries=[[one.name, one.code] for one in entries]))
    db.flush()


def drop_draft(db: Session, group: Group) -> None:
    """Let a list go that was not confirmed."""
    db.execute(delete(RosterDraftRow).where(RosterDraftRow.group_id == group.id))


def the_plan(db: Session, group: Group, *, adds_only: bool, at: datetime) -> Plan:
    """Return what the list that waits would do, or raise NotFound where none does."""
    row = _find_draft(db, group, at=at)
    if row is None:
        raise NotFound(
            say(
                "No list waits here: it was confirmed, dropped, is older than a day, or somebody it may name was erased. Give it once more."
            )
        )
    return make_plan(db, group, [(name, code) for name, code in row.entries], adds_only=adds_only)


def carry_out(db: Session, group: Group, *, by: Person, mark: str, adds_only: bool, batch: str, closed_hash: str, at: datetime) -> int:
    """Do what was shown, as a whole, and return how many slips are to be made; raise Conflict where the class has changed since."""
    db.execute(select(GroupRow.id).where(GroupRow.id == group.id).with_for_update())
    plan = the_plan(db, group, adds_only=adds_only, at=at)
    if plan.mark != mark:
        raise Conflict(say("The class has changed since you looked. Look at what the list would do once more."))
    known = by_account(placed(db, group))
    made = [_make(db, group, one, by=by, closed_hash=closed_hash, at=at) for one in plan.new]
    for one in (*plan.back, *plan.stay):
        place = known[one.account_id].place
        if place is None:
            place = RosterPlaceRow(group_id=group.id, account_id=one.account_id)
            db.add(place)
        place.code, place.listed_as = one.code or place.code or "", fold_name(one.listed)
    for one in plan.back:
        groups.add_member(db, group.id, one.account_id, at=at)
    for one in plan.rest:
        _rest(db, group, one.account_id, by=by, at=at)
    back = {one.account_id for one in plan.back}
    wanted = [*made, *(one for one in unused_slips(db, group, by=by.id) if one in back)]
    roster_slips.promise(db, group, wanted, by=by, batch=batch, closed_hash=closed_hash, at=at, is_first=True)
    drop_draft(db, group)
    counts = f"{len(plan.new)} new, {len(plan.back)} back, {len(plan.rest)} at rest"
    audit.note(db, "class list confirmed", at=at, by=by.id, subject=f"group {group.id}: {counts}")
    return len(wanted)


def rest_one(db: Session, group: Group, membership_id: int, *, by: Person, at: datetime) -> None:
    """Let one who is on the list of a class rest; raise NotFound for whoever is not on it or not in the class."""
    for one in the_roster(db, group, at=at).present:
        if one.id == membership_id and db.get_one(MembershipRow, membership_id).role == MEMBER:
            _rest(db, group, one.account_id, by=by, at=at)
            return
    raise NotFound(say("Nobody by that number learns in this class and is on its list."))


def bring_back_one(db: Session, group: Group, account_id: int, *, by: Person, at: datetime) -> None:
    """Bring one back into a class who rests; raise NotFound for whoever does not. Her slip or passphrase is as it was."""
    if account_id not in {one.account_id for one in the_roster(db, group, at=at).resting}:
        raise NotFound(say("Nobody by that number rests on the list of this class."))
    groups.add_member(db, group.id, account_id, at=at)
    audit.note(db, "brought back", at=at, by=by.id, subject=f"group {group.id}, account {account_id}")


def unused_slips(db: Session, group: Group, *, by: int) -> tuple[int, ...]:
    """Return the accounts of those in a group who have not signed in with their slips of it, and to whom `by` may give others."""
    given = set(db.scalars(select(GivenPassphraseRow.account_id).where(GivenPassphraseRow.group_id == group.id)))
    return tuple(account_id for account_id in may_be_given(db, group, by=by).values() if account_id in given)


def may_be_given(db: Session, group: Group, *, by: int) -> dict[int, int]:
    """Return the accounts, by membership, of those in a group to whom whoever leads it (`by`) may give a new passphrase.

    Those whose account was made by joining a group that she leads, and who have no mail address; in a class those for whose list the
    account was made have it even with one. Never somebody who keeps the hall, leads a group or writes a catalogue: with her passphrase
    one would have more than one has.
    """
    lead = select(MembershipRow.account_id).where(MembershipRow.until.is_(None), MembershipRow.role.in_(HEADS))
    query = (
        select(MembershipRow.id, MembershipRow.account_id, RosterPlaceRow.made_here, AddressRow.account_id)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .outerjoin(
            RosterPlaceRow, (RosterPlaceRow.account_id == MembershipRow.account_id) & (RosterPlaceRow.group_id == MembershipRow.group_id)
        )
        .outerjoin(AddressRow, AddressRow.account_id == MembershipRow.account_id)
        .where(
            *(MembershipRow.group_id == group.id, MembershipRow.until.is_(None), MembershipRow.role == MEMBER),
            *(AccountRow.retired_at.is_(None), AccountRow.is_keeper.is_(False)),
            made_under(by),
            *(MembershipRow.account_id.not_in(lead), MembershipRow.account_id.not_in(select(StewardRow.account_id))),
        )
    )
    is_class = group.kind == "class"
    return {row_id: account_id for row_id, account_id, made, reached in db.execute(query) if reached is None or (made and is_class)}


def the_one_to_give(db: Session, group: Group, membership_id: int, *, by: int) -> int:
    """Return the account of somebody in a group who may be given a new passphrase; raise NotFound or NotAllowed."""
    row = db.get(MembershipRow, membership_id)
    if row is None or row.group_id != group.id or row.until is not None:
        raise NotFound(say("Nobody by that number is in this group any more."))
    found = may_be_given(db, group, by=by).get(membership_id)
    if found is None:
        raise NotAllowed(NO_RESET)
    return found


def _find_draft(db: Session, group: Group, *, at: datetime) -> RosterDraftRow | None:
    row = db.get(RosterDraftRow, group.id)
    return row if row is not None and row.made_at > at - KEPT else None


def _make(db: Session, group: Group, one: OnList, *, by: Person, closed_hash: str, at: datetime) -> int:
    """Make the account of somebody new to the list: in her teacher's zone, and keeping of her pictures' files what is shown alone."""
    row = AccountRow(name=one.name, name_folded=fold_name(one.name), passphrase_hash=closed_hash, created_at=at)
    row.zone, row.language, row.keep_originals = by.zone, by.preferences.language, False
    db.add(row)
    db.flush()
    db.add(RosterPlaceRow(group_id=group.id, account_id=row.id, code=one.code, listed_as=fold_name(one.listed), made_here=True))
    audit.note(db, "account made", at=at, by=by.id, subject=f"account {row.id}")
    groups.add_member(db, group.id, row.id, at=at)
    return row.id


def _rest(db: Session, group: Group, account_id: int, *, by: Person, at: datetime) -> None:
    running = select(MembershipRow).where(
        MembershipRow.group_id == group.id, MembershipRow.account_id == account_id, MembershipRow.until.is_(None)
    )
    db.scalars(running).one().until = at
    audit.note(db, "membership ended", at=at, by=by.id, subject=f"group {group.id}, account {account_id}")
