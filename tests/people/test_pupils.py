"""Into whose hands an account is put by a group: of whoever leads the one that it was made in, and of no other one joined later."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotAllowed, NotFound
from drillhall.people import groups, pupils, roster
from drillhall.people.group import Group
from drillhall.people.person import Person
from drillhall.people.roster_slips import promise
from drillhall.store.models.groups import MembershipRow
from drillhall.store.session import Store
from tests.cast import LEADER, LEARNER, STRANGER
from tests.people.test_roster import AT, add, carry, make

LATER = AT + timedelta(hours=1)


def another(db: Session, by: Person, *, kind: str = "class") -> Group:
    """Make a group of somebody's, as anybody with an account may."""
    return groups.make_group(db, by=by, title="Another", kind=kind, is_paid=False, public_id=f"another-{kind}", at=AT)


def joins(db: Session, group: Group, account_id: int) -> int:
    """Let somebody who has an account into a group, and return her membership."""
    groups.add_member(db, group.id, account_id, at=LATER)
    return db.scalars(select(MembershipRow.id).where(MembershipRow.group_id == group.id, MembershipRow.account_id == account_id)).one()


def pupil_of(db: Session, group: Group, by: Person) -> int:
    """Put one name on the list of a class and return her account."""
    carry(db, group, by, ("Wenna T.", "1"))
    (pupil,) = pupils.list_pupils(db, group, by=by.id)
    return pupil.account_id


@pytest.mark.parametrize("kind", ["class", "club"])
def test_whoever_had_an_account_is_not_in_the_hands_of_whom_she_joins(store: Store, kind: str) -> None:
    with store.work() as db:
        stranger, learner = add(db, STRANGER), add(db, LEARNER)
        group = another(db, stranger, kind=kind)
        member = joins(db, group, learner.id)
        assert roster.may_be_given(db, group, by=stranger.id) == {}
        assert pupils.list_pupils(db, group, by=stranger.id) == ()
        with pytest.raises(NotAllowed, match="had an account before"):
            roster.the_one_to_give(db, group, member, by=stranger.id)


def test_a_pupil_of_one_class_is_not_in_the_hands_of_another_ones_teacher(store: Store) -> None:
    with store.work() as db:
        teacher, form = make(db)
        pupil, stranger = pupil_of(db, form, teacher), add(db, STRANGER)
        group = another(db, stranger)
        member = joins(db, group, pupil)
        with pytest.raises(NotFound):
            pupils.the_pupil(db, group, member, by=stranger.id)
        with pytest.raises(NotAllowed):
            roster.the_one_to_give(db, group, member, by=stranger.id)
        assert [one.account_id for one in pupils.list_pupils(db, form, by=teacher.id)] == [pupil]
        assert list(roster.may_be_given(db, form, by=teacher.id).values()) == [pupil]


def test_who_teaches_both_classes_or_took_the_first_over_sees_to_her_still(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        teacher, form = make(db)
        pupil, heir = pupil_of(db, form, teacher), add(db, LEADER)
        group = another(db, teacher)
        member = joins(db, group, pupil)
        assert pupils.the_pupil(db, group, member, by=teacher.id).account_id == pupil
        assert roster.the_one_to_give(db, group, member, by=teacher.id) == pupil
        assert pupils.list_pupils(db, form, by=heir.id) == (), "before she teaches it"
        groups.make_head(db, form, joins(db, form, heir.id), by=teacher, at=LATER)
        assert [one.account_id for one in pupils.list_pupils(db, form, by=heir.id)] == [pupil]


def test_a_slip_that_waits_is_made_anew_by_nobody_but_who_may_give_one(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        teacher, form = make(db)
        pupil, stranger = pupil_of(db, form, teacher), add(db, STRANGER)
        group = another(db, stranger)
        joins(db, group, pupil)
        assert carry(db, group, stranger, ("Wenna T.", "7")) == 0
        assert carry(db, group, stranger) == 0, "gone from the list she rests"
        assert carry(db, group, stranger, ("Wenna T.", "7")) == 0, "and comes back, while the slip of her own class waits"
        assert roster.unused_slips(db, form, by=teacher.id) == (pupil,)
        both, heir = another(db, teacher, kind="club"), add(db, LEADER)
        promise(db, both, [pupil], by=teacher, batch="a", closed_hash="shut", at=LATER)
        joins(db, both, pupil)
        groups.make_head(db, both, joins(db, both, heir.id), by=teacher, at=LATER)
        assert roster.unused_slips(db, both, by=teacher.id) == (pupil,)
        assert roster.unused_slips(db, both, by=heir.id) == (), "who leads the club, and not the class that her account was made in"
