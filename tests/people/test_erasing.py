"""What goes with somebody erased beside her own rows: lists of classes that wait to be confirmed and may tell her name."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.people import accounts, erasing, groups, roster
from drillhall.people.group import Group
from drillhall.people.names import fold_name
from drillhall.people.person import Person
from drillhall.people.roster_rows import Entry
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.rosters import RosterDraftRow, RosterPlaceRow
from drillhall.store.session import Store
from tests.cast import LEARNER, STRANGER, TEACHER, Someone

AT = datetime(2031, 9, 1, 8, tzinfo=UTC)


def add(db: Session, someone: Someone) -> Person:
    return accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT)


def with_list(db: Session, title: str, *names: str, by: Person) -> Group:
    """Make a class with a list of names that waits in it."""
    group = groups.make_group(db, by=by, title=title, kind="class", is_paid=False, public_id=f"g-{title}", at=AT)
    roster.keep_draft(db, group, [Entry(name, "", row) for row, name in enumerate(names, 1)], by=by, at=AT)
    return group


def left_after(db: Session, whom: Person) -> set[int]:
    """Erase what is somebody's and return the classes in which a list still waits."""
    erasing.erase_rows(db, whom.id)
    return set(db.scalars(select(RosterDraftRow.group_id)))


@pytest.mark.parametrize("ends", [None, AT], ids=["in it", "left it"])
def test_a_list_goes_that_waits_in_a_class_she_joined_by_a_link(store: Store, ends: datetime | None) -> None:
    with store.work() as db:
        by, pupil = add(db, TEACHER), add(db, LEARNER)
        hers, others = (with_list(db, title, "Anybody", by=by) for title in ("Six", "Seven"))
        groups.add_member(db, hers.id, pupil.id, at=AT)
        db.scalars(select(MembershipRow).where(MembershipRow.account_id == pupil.id)).one().until = ends
        assert left_after(db, pupil) == {others.id}


def test_a_list_goes_that_names_her_for_a_class_to_come(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        by, pupil = add(db, TEACHER), add(db, LEARNER)
        old, _ = with_list(db, "Six", "Anybody", by=by), with_list(db, "Seven", "Anybody", f"  {LEARNER.name.upper()} ", by=by)
        with_list(db, "Eight", "Ode  Listed", by=by)
        others = with_list(db, "Nine", f"{LEARNER.name}s", "Listed", by=by)
        db.add(RosterPlaceRow(group_id=old.id, account_id=pupil.id, code="", listed_as=fold_name("ode listed")))
        db.flush()
        assert left_after(db, pupil) == {others.id}


def test_a_list_goes_with_the_teacher_who_gave_it_and_with_nobody_else(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        by, stranger = add(db, TEACHER), add(db, STRANGER)
        kept = with_list(db, "Six", "Anybody", by=by)
        assert left_after(db, stranger) == {kept.id}
        assert left_after(db, by) == set()
