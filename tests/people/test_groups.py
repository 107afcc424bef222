"""Groups: who leads, who leaves, who hands over, and that a group is never without somebody who leads it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from drillhall.errors import Conflict, Invalid, NotAllowed, NotFound
from drillhall.people import accounts, groups, headless, invitations
from drillhall.people.group import Group
from drillhall.people.permissions import Role, roles_in_groups, the_group, the_led_group
from drillhall.people.person import Person
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AuditRow
from drillhall.store.session import Store
from tests import cast

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
LATER = AT + timedelta(days=1)


class Club:
    """A club with a leader and a member, and a stranger beside it."""

    def __init__(self, store: Store, kind: str = "club") -> None:
        self.store = store
        self.leader, self.member, self.stranger = (self.add(one) for one in (cast.LEADER, cast.LEARNER, cast.STRANGER))
        with store.work() as db:
            made = groups.make_group(db, by=self.leader, title="  Sluice   watchers ", kind=kind, is_paid=False, public_id="g", at=AT)
            groups.add_member(db, made.id, self.member.id, at=AT)
        self.id = made.id

    def add(self, someone: cast.Someone) -> Person:
        with self.store.work() as db:
            return accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT)

    def seen_by(self, person: Person) -> Group:
        with self.store.look() as db:
            return the_group(db, person, "g")

    def number_of(self, person: Person) -> int:
        with self.store.look() as db:
            running = select(MembershipRow.id).where(MembershipRow.account_id == person.id, MembershipRow.until.is_(None))
            return db.scalars(running).one()

    def names(self) -> list[tuple[str, str]]:
        with self.store.look() as db:
            listed = groups.list_members(db, Group(self.id, "g", "", "club", False, None, "member"), asks=self.leader)
        return [(one.name, one.role) for one in listed]


@pytest.fixture
def club(store: Store) -> Club:
    return Club(store)


def test_whoever_makes_a_group_leads_it(club: Club) -> None:
    assert (club.seen_by(club.leader).title, club.seen_by(club.leader).role) == ("Sluice watchers", "leader")
    assert club.names() == [(cast.LEADER.name, "leader"), (cast.LEARNER.name, "member")]
    with club.store.look() as db:
        assert roles_in_groups(db, club.member) == {Role.MEMBER}
        assert roles_in_groups(db, club.stranger) == frozenset()
        assert [(one.group.title, one.people) for one in groups.list_groups(db, club.member)] == [("Sluice watchers", 2)]


def test_a_class_is_taught(store: Store) -> None:
    taught = Club(store, "class")
    assert taught.seen_by(taught.leader).role == "teacher"
    assert taught.seen_by(taught.leader).is_led


@pytest.mark.parametrize(("title", "kind", "field"), [(" ", "club", "title"), ("x" * 121, "club", "title"), ("Fine", "herd", "kind")])
def test_a_group_without_a_name_or_kind_is_refused(club: Club, title: str, kind: str, field: str) -> None:
    with club.store.work() as db, pytest.raises(Invalid) as wrong:
        groups.make_group(db, by=club.leader, title=title, kind=kind, is_paid=False, public_id="h", at=AT)
    assert wrong.value.field == field


def test_another_group_is_as_if_it_were_not_there(club: Club) -> None:
    with club.store.look() as db:
        for number in ("g", "h", ""):
            with pytest.raises(NotFound):
                the_group(db, club.stranger, number)
        with pytest.raises(NotFound):
            the_led_group(db, club.stranger, "g")
        with pytest.raises(NotAllowed):
            the_led_group(db, club.member, "g")


def test_whoever_has_left_sees_it_no_more_and_may_come_again(club: Club) -> None:
    with club.store.work() as db:
        groups.leave(db, the_group(db, club.member, "g"), by=club.member, at=LATER)
    with pytest.raises(NotFound):
        club.seen_by(club.member)
    with club.store.work() as db:
        groups.add_member(db, club.id, club.member.id, at=LATER)
        with pytest.raises(Conflict):
            groups.add_member(db, club.id, club.member.id, at=LATER)
    assert club.seen_by(club.member).role == "member"


def test_each_groups_switch_is_its_own_and_off_until_she_turns_it(club: Club) -> None:
    with club.store.work() as db:
        other = groups.make_group(db, by=club.stranger, title="Mud walkers", kind="club", is_paid=False, public_id="h", at=AT)
        groups.add_member(db, other.id, club.member.id, at=AT)
        both = [the_group(db, club.member, number) for number in ("g", "h")]
        assert [groups.lets_see(db, one, club.member) for one in both] == [False, False]
        groups.let_see(db, both[0], by=club.member, lets=True)
        assert [groups.lets_see(db, one, club.member) for one in both] == [True, False]
        groups.leave(db, both[0], by=club.member, at=LATER)
        groups.add_member(db, club.id, club.member.id, at=LATER)
        assert not groups.lets_see(db, both[0], club.member), "what she let the group see ended with her leaving it"


def test_the_last_to_lead_stays_until_she_hands_over(club: Club) -> None:
    with club.store.work() as db:
        group = the_led_group(db, club.leader, "g")
        for give_up in (groups.leave, groups.step_down):
            with pytest.raises(Conflict, match="never without"):
                give_up(db, group, by=club.leader, at=LATER)
        groups.make_head(db, group, club.number_of(club.member), by=club.leader, at=LATER)
    with club.store.work() as db:
        groups.step_down(db, the_led_group(db, club.leader, "g"), by=club.leader, at=LATER)
    assert sorted(club.names()) == sorted([(cast.LEARNER.name, "leader"), (cast.LEADER.name, "member")])
    with club.store.look() as db:
        with pytest.raises(NotAllowed):
            the_led_group(db, club.leader, "g")
        assert set(db.scalars(select(AuditRow.act))) >= {"made leader", "no longer leader"}


def test_a_leader_whose_account_is_closed_counts_for_nothing(club: Club) -> None:
    with club.store.work() as db:
        groups.make_head(db, the_led_group(db, club.leader, "g"), club.number_of(club.member), by=club.leader, at=AT)
        keeper = accounts.make_account(db, name=cast.KEEPER.name, passphrase=cast.KEEPER.passphrase, at=AT, is_keeper=True)
        accounts.retire_account(db, club.member.id, by=keeper, at=AT)
    with club.store.work() as db, pytest.raises(Conflict, match="never without"):
        groups.leave(db, the_group(db, club.leader, "g"), by=club.leader, at=LATER)


def keeper_of(club: Club) -> Person:
    with club.store.work() as db:
        return accounts.make_account(db, name=cast.KEEPER.name, passphrase=cast.KEEPER.passphrase, at=AT, is_keeper=True)


@pytest.mark.parametrize("archived", [False, True])
def test_the_keeper_chooses_who_leads_what_a_closed_account_led_alone(club: Club, archived: bool) -> None:
    keeper = keeper_of(club)
    with club.store.work() as db:
        if archived:
            groups.archive(db, the_led_group(db, club.leader, "g"), by=club.leader, at=AT)
        assert headless.list_headless(db) == ()
        with pytest.raises(NotFound, match="nobody leads"):
            headless.let_lead(db, club.id, club.number_of(club.member), by=keeper, at=AT)
        leaders = club.number_of(club.leader)
        accounts.retire_account(db, club.leader.id, by=keeper, at=AT)
        (left,) = headless.list_headless(db)
        assert (left.title, left.head, left.is_archived) == ("Sluice watchers", "leader", archived)
        assert [one.name for one in left.members] == [cast.LEARNER.name]
        for group, number in ((club.id, leaders), (club.id, 999), (999, left.members[0].id)):
            with pytest.raises(NotFound):
                headless.let_lead(db, group, number, by=keeper, at=LATER)
        headless.let_lead(db, club.id, left.members[0].id, by=keeper, at=LATER)
        assert headless.list_headless(db) == ()
    assert club.seen_by(club.member).is_led


def test_a_group_with_nobody_left_in_it_is_archived_with_the_account(club: Club) -> None:
    keeper = keeper_of(club)
    with club.store.work() as db:
        for person in (club.member, club.leader):
            assert the_group(db, club.leader, "g").retired_at is None
            accounts.retire_account(db, person.id, by=keeper, at=LATER)
        assert the_group(db, club.leader, "g").retired_at == LATER
        assert headless.list_headless(db) == ()


def test_closed_accounts_are_not_counted_as_people(club: Club) -> None:
    keeper = keeper_of(club)
    with club.store.work() as db:
        accounts.retire_account(db, club.member.id, by=keeper, at=AT)
    with club.store.look() as db:
        assert [one.people for one in groups.list_groups(db, club.leader)] == [len(club.names())] == [1]


def test_the_last_to_lead_an_archived_group_leaves_it_only_when_nobody_else_is_in_it(club: Club) -> None:
    with club.store.work() as db:
        groups.archive(db, the_led_group(db, club.leader, "g"), by=club.leader, at=AT)
    with club.store.work() as db, pytest.raises(Conflict, match="Open it again and make somebody else leader first"):
        groups.leave(db, the_group(db, club.leader, "g"), by=club.leader, at=LATER)
    with club.store.work() as db:
        groups.leave(db, the_group(db, club.member, "g"), by=club.member, at=LATER)
        groups.leave(db, the_group(db, club.leader, "g"), by=club.leader, at=LATER)
        with pytest.raises(NotFound):
            the_group(db, club.leader, "g")


def test_a_leader_ends_a_membership_of_her_own_group_alone(club: Club) -> None:
    with club.store.work() as db:
        groups.make_group(db, by=club.stranger, title="Others", kind="club", is_paid=False, public_id="h", at=AT)
    with club.store.work() as db:
        group = the_led_group(db, club.leader, "g")
        for number in (club.number_of(club.stranger), 999):
            with pytest.raises(NotFound):
                groups.end_membership(db, group, number, by=club.leader, at=LATER)
        with pytest.raises(Conflict, match="That is you"):
            groups.end_membership(db, group, club.number_of(club.leader), by=club.leader, at=LATER)
        number = club.number_of(club.member)
        groups.end_membership(db, group, number, by=club.leader, at=LATER)
        with pytest.raises(NotFound):
            groups.end_membership(db, group, number, by=club.leader, at=LATER)
        assert db.scalars(select(AuditRow).where(AuditRow.act == "membership ended")).one().account_id == club.leader.id
    with pytest.raises(NotFound):
        club.seen_by(club.member)


def test_an_archived_group_can_be_read_and_opened_again(club: Club) -> None:
    with club.store.work() as db:
        group = the_led_group(db, club.leader, "g")
        token = invitations.invite(db, by=club.leader, at=AT, places=3, group=group)
        groups.archive(db, group, by=club.leader, at=LATER)
    assert club.seen_by(club.member).retired_at == LATER
    with club.store.look() as db:
        with pytest.raises(Conflict, match="archived"):
            the_led_group(db, club.leader, "g")
        with pytest.raises(NotFound):
            invitations.the_invitation(db, token, at=LATER)
    with club.store.work() as db:
        groups.open_again(db, the_led_group(db, club.leader, "g", archived=True), by=club.leader, at=LATER)
        assert invitations.the_invitation(db, token, at=LATER).group == "Sluice watchers"


def test_a_link_lets_somebody_new_into_hall_and_group_in_one(club: Club) -> None:
    with club.store.work() as db:
        token = invitations.invite(db, by=club.leader, at=AT, places=2, group=the_led_group(db, club.leader, "g"))
        new = invitations.join(db, token, name=cast.TEACHER.name, passphrase=cast.TEACHER.passphrase, at=LATER)
    assert club.seen_by(new).role == "member"
    with club.store.work() as db:
        assert invitations.join_group(db, token, person=club.stranger, at=LATER) == "g"
    assert club.seen_by(club.stranger).role == "member"
    with club.store.work() as db, pytest.raises(NotFound, match="all its places"):
        invitations.join_group(db, token, person=club.member, at=LATER)


def test_whoever_is_in_it_already_takes_no_place(club: Club) -> None:
    with club.store.work() as db:
        token = invitations.invite(db, by=club.leader, at=AT, group=the_led_group(db, club.leader, "g"))
        with pytest.raises(Conflict, match="already"):
            invitations.join_group(db, token, person=club.member, at=LATER)
        assert invitations.the_invitation(db, token, at=LATER).taken == 0


@pytest.mark.parametrize("days", [13, 15])
def test_a_link_ends_by_itself_and_by_her_who_leads(club: Club, days: int) -> None:
    with club.store.work() as db:
        group = the_led_group(db, club.leader, "g")
        token = invitations.invite(db, by=club.leader, at=AT, places=5, group=group)
        if days < 14:
            listed = invitations.list_invitations(db, group=group)
            invitations.end_invitation(db, listed[0].id, by=club.leader, at=AT, group=group)
    with club.store.work() as db, pytest.raises(NotFound):
        invitations.join_group(db, token, person=club.stranger, at=AT + timedelta(days=days))


def test_a_link_of_the_hall_is_no_link_of_a_group(club: Club) -> None:
    with club.store.work() as db:
        group = the_led_group(db, club.leader, "g")
        token = invitations.invite(db, by=club.leader, at=AT)
        number = invitations.list_invitations(db)[0].id
        assert invitations.list_invitations(db, group=group) == ()
        with pytest.raises(NotFound):
            invitations.end_invitation(db, number, by=club.leader, at=AT, group=group)
        with pytest.raises(NotFound, match="in it already"):
            invitations.join_group(db, token, person=club.stranger, at=AT)
