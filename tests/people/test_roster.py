"""The list of a class in the database: what a plan tells, what carrying it out writes, and to whom a passphrase may be given."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid, NotAllowed, NotFound
from drillhall.people import accounts, groups, retention, roster
from drillhall.people.group import Group
from drillhall.people.person import Person
from drillhall.people.roster_plan import Plan
from drillhall.people.roster_rows import Entry
from drillhall.people.roster_slips import (
    OwnNeeded,
    Slips,
    batch_of,
    check_own,
    hashed,
    keep_hashes,
    list_slips,
    make_key,
    next_unmade,
    passphrase_for,
    promise,
)
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.post import AddressRow
from drillhall.store.session import Store
from tests.cast import LEARNER, STRANGER, TEACHER, Someone

AT = datetime(2031, 9, 1, 8, tzinfo=UTC)
KEY = "5e" * 32


def add(db: Session, someone: Someone) -> Person:
    return accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT)


def make(db: Session, kind: str = "class") -> tuple[Person, Group]:
    """Make a teacher and a group of hers."""
    by = add(db, TEACHER)
    return by, groups.make_group(db, by=by, title="Form Six", kind=kind, is_paid=False, public_id=f"g-{kind}", at=AT)


def plan(db: Session, group: Group, by: Person, *listed: tuple[str, str], adds_only: bool = False, at: datetime = AT) -> Plan:
    roster.keep_draft(db, group, [Entry(name, code, row) for row, (name, code) in enumerate(listed, 1)], by=by, at=at)
    return roster.the_plan(db, group, adds_only=adds_only, at=at)


def carry(db: Session, group: Group, by: Person, *listed: tuple[str, str], at: datetime = AT) -> int:
    mark = plan(db, group, by, *listed, at=at).mark
    return roster.carry_out(db, group, by=by, mark=mark, adds_only=False, batch=batch_of(KEY), closed_hash="shut", at=at)


def shown(told: Plan) -> dict[str, list[str]]:
    parts = {part: [one.name for one in getattr(told, part)] for part in ("new", "back", "stay", "rest", "closed", "beside")}
    return {part: names for part, names in parts.items() if names}


def add_member(db: Session, group: Group, someone: Someone) -> int:
    """Let somebody into a group and return her membership."""
    groups.add_member(db, group.id, add(db, someone).id, at=AT)
    return db.scalars(select(MembershipRow.id).order_by(MembershipRow.id.desc())).first() or 0


def test_a_list_twice_changes_nothing_and_gaps_rest_and_return(store: Store) -> None:
    with store.work() as db:
        by, group = make(db)
        assert carry(db, group, by, ("Wenna T.", "1"), ("Åse K.", "2")) == 2
        again = plan(db, group, by, ("Wenna T.", "1"), ("Åse K.", "2"))
        assert again.is_nothing
        assert shown(again) == {"stay": ["Wenna T.", "Åse K."]}
        carry(db, group, by, ("Wenna T.", "1"), at=AT + timedelta(days=1))
        assert shown(plan(db, group, by, ("Wenna T.", "1"))) == {"stay": ["Wenna T."]}, "who rests already does not rest anew"
        assert shown(plan(db, group, by, ("Somebody", "2"))) == {"back": ["Åse K."], "rest": ["Wenna T."]}
        assert carry(db, group, by, ("Åse K.", "2"), at=AT + timedelta(days=2)) == 1, "she never used her slip, so she gets another"
        told = roster.the_roster(db, group, at=AT + timedelta(days=2))
        assert ([one.name for one in told.present], [one.name for one in told.resting]) == (["Åse K."], ["Wenna T."])


def test_a_list_that_begins_to_have_codes_knows_its_people_by_name_once(store: Store) -> None:
    with store.work() as db:
        by, group = make(db)
        carry(db, group, by, ("Wenna T.", ""))
        carry(db, group, by, ("wenna  t.", "1"))
        assert shown(plan(db, group, by, ("Wenna Tresco", "1"), ("Wenna T.", "2"))) == {"stay": ["Wenna T."], "new": ["Wenna T. 2"]}


def test_whose_account_is_closed_does_not_come_back(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        by, group = make(db)
        carry(db, group, by, ("Wenna T.", "1"))
        db.scalars(select(AccountRow).where(AccountRow.name == "Wenna T.")).one().retired_at = AT
        assert shown(plan(db, group, by, ("Wenna T.", "1"))) == {"closed": ["Wenna T."]}
        assert carry(db, group, by, ("Wenna T.", "1")) == 0


def test_who_teaches_does_not_rest_and_a_name_is_never_anothers_account(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        by, group = make(db)
        add(db, STRANGER)
        told = plan(db, group, by, (STRANGER.name, ""), ("stranger", ""))
        assert shown(told) == {"new": [f"{STRANGER.name} 2", "stranger"]}
        assert told.new[0].account_id == 0
        assert shown(plan(db, group, by, (TEACHER.name, ""))) == {"stay": [TEACHER.name]}


def test_pupils_begin_on_the_private_side(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        by, group = make(db)
        carry(db, group, by, ("Wenna T.", "1"))
        account = db.scalars(select(AccountRow).where(AccountRow.name == "Wenna T.")).one()
        member = db.scalars(select(MembershipRow).where(MembershipRow.account_id == account.id)).one()
        assert not account.keep_originals
        assert not member.lets_leader_see
        assert account.zone == by.zone
        assert account.passphrase_hash == "shut"


def test_a_plan_that_is_not_the_one_shown_is_not_carried_out(store: Store) -> None:
    with store.work() as db:
        by, group = make(db)
        old = plan(db, group, by, ("Wenna T.", "1")).mark
        add_member(db, group, Someone("Wenna T.", LEARNER.passphrase, "UTC"))
        with pytest.raises(Conflict):
            roster.carry_out(db, group, by=by, mark=old, adds_only=False, batch="b", closed_hash="shut", at=AT)
        with pytest.raises(NotFound):
            roster.the_plan(db, group, adds_only=False, at=AT + timedelta(days=1))
        retention.forget_past(db, at=AT + timedelta(hours=23))
        assert roster.the_roster(db, group, at=AT).has_draft
        retention.forget_past(db, at=AT + timedelta(days=1))
        assert not roster.the_roster(db, group, at=AT).has_draft


def test_a_passphrase_is_given_in_a_club_to_whoever_has_no_address_alone(store: Store) -> None:
    with store.work() as db:
        by, club = make(db, "club")
        member = add_member(db, club, LEARNER)
        found = roster.the_one_to_give(db, club, member, by=by.id)
        db.add(AddressRow(account_id=found, public_id="p", address="a@example.org", asked_at=AT, reminders=False))
        db.flush()
        with pytest.raises(NotAllowed):
            roster.the_one_to_give(db, club, member, by=by.id)


def test_in_a_class_whoever_was_made_for_its_list_may_have_an_address(store: Store) -> None:
    with store.work() as db:
        by, group = make(db)
        carry(db, group, by, ("Wenna T.", "1"))
        joined = add_member(db, group, LEARNER)
        for account_id in roster.may_be_given(db, group, by=by.id).values():
            db.add(AddressRow(account_id=account_id, public_id=f"p{account_id}", address="a@example.org", asked_at=AT, reminders=False))
        db.flush()
        left = roster.may_be_given(db, group, by=by.id)
        assert len(left) == 1
        assert joined not in left


def test_nobody_who_keeps_leads_or_is_gone_is_given_one(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        by, group = make(db)
        keeps, leads, gone = (add_member(db, group, Someone(name, LEARNER.passphrase, "UTC")) for name in ("Keeps", "Leads", "Gone"))
        accounts_by_name = {row.name: row for row in db.scalars(select(AccountRow))}
        accounts_by_name["Keeps"].is_keeper = True
        other = accounts.the_person_of(db, accounts_by_name["Leads"].id)
        groups.make_group(db, by=other, title="Hers", kind="club", is_paid=False, public_id="hers", at=AT)
        groups.end_membership(db, group, gone, by=by, at=AT)
        assert roster.may_be_given(db, group, by=by.id) == {}
        for member in (keeps, leads):
            with pytest.raises(NotAllowed):
                roster.the_one_to_give(db, group, member, by=by.id)
        with pytest.raises(NotFound):
            roster.the_one_to_give(db, group, gone, by=by.id)


def test_a_slip_is_of_its_key_its_owner_and_its_moment(sqlite_store: Store) -> None:
    said = {passphrase_for(key, who, at) for key in (KEY, make_key()) for who in (1, 2) for at in (AT, AT + timedelta(microseconds=1))}
    assert len(said) == 8
    assert all(len(one.split()) == 5 for one in said)
    with sqlite_store.work() as db:
        by, group = make(db)
        carry(db, group, by, ("Wenna T.", "1"))
        unmade = next_unmade(db, group, batch=batch_of(KEY))
        hashes = hashed(unmade, key=KEY)
        promise(db, group, [unmade[0].account_id], by=by, batch=batch_of("other"), closed_hash="shut again", at=AT)
        keep_hashes(db, group, hashes, batch=batch_of(KEY))
        account = db.get_one(AccountRow, unmade[0].account_id)
        assert account.passphrase_hash == "shut again", "a slip given anew meanwhile is not undone"
        assert list_slips(db, group, key=KEY) == Slips(0, 0, ())


def test_a_reset_by_the_keeper_takes_the_place_of_a_slip(sqlite_store: Store) -> None:
    late = AT + timedelta(days=40)
    with sqlite_store.work() as db:
        by, group = make(db)
        carry(db, group, by, ("Wenna T.", "1"))
        account_id = db.scalars(select(AccountRow.id).where(AccountRow.name == "Wenna T.")).one()
        with pytest.raises(OwnNeeded):
            check_own(db, account_id, at=AT)
        with pytest.raises(Invalid, match="is over"):
            check_own(db, account_id, at=late)
        accounts.reset_passphrase(db, name="wenna t.", passphrase=LEARNER.passphrase, at=late, by=None)
        check_own(db, account_id, at=late)
        assert accounts.recognise(db, name="Wenna T.", passphrase=LEARNER.passphrase).account_id == account_id
