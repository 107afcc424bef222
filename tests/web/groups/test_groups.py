"""The rooms of groups over HTTP: making one, links, joining, and what is refused."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEADER, LEARNER, STRANGER
from tests.visits import Hall, Visitor


def make(visitor: Visitor, title: str = "Sluice watchers", **fields: str) -> str:
    answer = visitor.post("/groups", {"title": title, "kind": "club"} | fields)
    assert answer.status_code == 303, answer.text
    return str(answer.location).split("?")[0]


def a_link(visitor: Visitor, group: str, places: int = 2) -> str:
    assert visitor.post(f"{group}/invitations", {"places": places, "days": 14, "note": ""}).status_code == 303
    found = re.search(r"http://localhost(/join/[\w-]+)", visitor.get(f"{group}/invitations").text)
    assert found
    return found[1]


def entering(link: str) -> str:
    return link.replace("/join/", "/groups/enter/")


def memberships(store: Store) -> list[tuple[str, str, bool]]:
    with store.look() as db:
        query = select(AccountRow.name, MembershipRow.role, MembershipRow.until.is_(None))
        query = query.join(AccountRow, AccountRow.id == MembershipRow.account_id).order_by(MembershipRow.id)
        return [(name, role, bool(runs)) for name, role, runs in db.execute(query)]


def number_of(store: Store, name: str) -> int:
    with store.look() as db:
        query = select(MembershipRow.id).join(AccountRow, AccountRow.id == MembershipRow.account_id)
        return db.scalars(query.where(AccountRow.name == name, MembershipRow.until.is_(None))).one()


def test_a_group_is_made_and_said_in_words(hall: Hall) -> None:
    leader = hall.enter(LEADER)
    group = make(leader, is_paid="yes")
    page = leader.get(group).text
    for words in ("Sluice watchers", "You lead it", "Nobody in the group sees your answers", "allows no use for pay", "None yet"):
        assert re.search(words, page), words
    assert "Sluice watchers" in leader.get("/groups").text


def test_in_a_hall_without_a_pair_set_each_page_that_needs_one_leads_to_where_it_is_made(hall: Hall) -> None:
    leader = hall.enter(LEADER)
    group = make(leader)
    for page in ("assignments", "outings", "wall", "field-tests", "open-questions"):
        words = leader.get(f"{group}/{page}").text
        assert 'no pair set in this hall yet. <a href="/catalogues">' in words, page
        assert "<select" not in words, page


def test_a_group_without_a_name_is_asked_for_again(hall: Hall) -> None:
    answer = hall.enter(LEADER).post("/groups", {"title": " ", "kind": "club"})
    assert answer.status_code == 422
    assert "Give the group a name" in answer.text
    with hall.store.look() as db:
        assert db.scalars(select(GroupRow)).all() == []


def test_somebody_new_joins_hall_and_group_in_one(hall: Hall) -> None:
    hall.add(KEEPER, is_keeper=True)
    leader = hall.enter(LEADER)
    link = a_link(leader, make(leader))
    new = hall.visitor()
    assert "Join Sluice watchers" in new.get(link).text
    told = {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "zone": "UTC", "old_enough": "yes"}
    assert new.post(link, told).status_code == 303
    assert (LEARNER.name, "member", True) in memberships(hall.store)
    assert LEARNER.name in leader.get("/groups/" + leader.get("/groups").text.split("/groups/")[1].split('"')[0]).text


def test_somebody_signed_in_joins_by_one_button(hall: Hall) -> None:
    leader, learner = hall.enter(LEADER), hall.enter(LEARNER)
    link = a_link(leader, make(leader))
    assert f"Join as {LEARNER.name}" in learner.get(link).text
    answer = learner.post(entering(link))
    assert answer.status_code == 303
    assert learner.get(answer.location).status_code == 200
    assert "You are in it already" in learner.get(link).text
    assert learner.post(entering(link)).status_code == 409
    assert memberships(hall.store)[-1] == (LEARNER.name, "member", True)


@pytest.mark.parametrize("how", ["ended", "over", "wrong", "full"])
def test_a_link_that_is_over_lets_nobody_in(hall: Hall, how: str) -> None:
    leader, learner = hall.enter(LEADER), hall.enter(LEARNER)
    group = make(leader)
    link = a_link(leader, group, places=1)
    if how == "ended":
        assert leader.post(f"{group}/invitations/1/end").status_code == 303
    if how == "over":
        hall.clock.move(days=15)
        learner = hall.enter(LEARNER, known=True)
    if how == "full":
        assert hall.enter(STRANGER).post(entering(link)).status_code == 303
    link = link[:-1] + ("x" if link[-1] != "x" else "y") if how == "wrong" else link
    assert learner.get(link).status_code == 404
    assert learner.post(entering(link)).status_code == 404
    assert (LEARNER.name, "member", True) not in memberships(hall.store)


def test_a_new_link_is_shown_on_the_page_of_its_own_group(hall: Hall) -> None:
    leader = hall.enter(LEADER)
    first, second = make(leader), make(leader, "Reed counters")
    assert leader.post(f"{first}/invitations", {"places": 1, "days": 14, "note": ""}).status_code == 303
    assert "/join/" not in leader.get(f"{second}/invitations").text
    assert "/join/" in leader.get(f"{first}/invitations").text
    assert "/join/" not in leader.get(f"{first}/invitations").text, "it is shown once"


def test_anothers_group_and_its_acts_are_not_there(hall: Hall) -> None:
    leader, stranger = hall.enter(LEADER), hall.enter(STRANGER)
    group = make(leader)
    make(stranger, "Her own")  # so that the door of groups is open to her
    assert stranger.get(group).status_code == 404
    assert stranger.get(f"{group}/invitations").status_code == 404
    number = number_of(hall.store, LEADER.name)
    for act in ("leave", "archive", "step-down", f"members/{number}/end", f"members/{number}/lead", "invitations", "invitations/1/end"):
        assert stranger.post(f"{group}/{act}").status_code == 404, act
    assert memberships(hall.store)[0] == (LEADER.name, "leader", True)


def test_a_member_and_a_leader_who_handed_over_may_not_lead(hall: Hall) -> None:
    leader, learner = hall.enter(LEADER), hall.enter(LEARNER)
    group = make(leader)
    learner.post(entering(a_link(leader, group)))
    number = number_of(hall.store, LEARNER.name)
    make(learner, "Her own")
    assert learner.post(f"{group}/archive").status_code == 403
    assert leader.post(f"{group}/step-down").status_code == 409, "nobody would lead it"
    assert leader.post(f"{group}/members/{number}/lead").status_code == 303
    assert leader.post(f"{group}/step-down").status_code == 303
    make(leader, "Another one")
    assert leader.post(f"{group}/archive").status_code == 403
    assert learner.post(f"{group}/archive").status_code == 303
    assert "Archived" in leader.get(group).text
    assert learner.post(f"{group}/invitations", {"places": 1, "days": 1}).status_code == 409
    assert learner.post(f"{group}/open-again").status_code == 303


def test_an_ended_membership_is_over_at_once(hall: Hall) -> None:
    leader, learner = hall.enter(LEADER), hall.enter(LEARNER)
    group = make(leader)
    learner.post(entering(a_link(leader, group)))
    number = number_of(hall.store, LEARNER.name)
    assert leader.post(f"{group}/members/{number}/end").status_code == 303
    assert learner.get(group).status_code == 404
    assert learner.post(f"{group}/leave").status_code == 404
    assert leader.post(f"{group}/members/{number}/end").status_code == 404
