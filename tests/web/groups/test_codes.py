"""Codes to join by: typed with or without an account, guessed in vain, over when they are over, and in no address."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from sqlalchemy import select

from drillhall.people import limits
from drillhall.store.models.people import InvitationRow
from tests.cast import LEADER, LEARNER, STRANGER
from tests.visits import Hall, Visitor
from tests.web.groups.test_groups import make, memberships

NEW = {"name": "Fen Okonedo", "passphrase": "low water by the old gantry", "zone": "UTC", "old_enough": "yes"}


def a_code(leader: Visitor, group: str, **fields: str) -> str:
    answer = leader.post(f"{group}/invitations", {"places": "5", "days": "7", "note": "", "with_code": "yes"} | fields)
    assert answer.status_code == 303, answer.text
    found = re.search(r'"offered code">([2-9B-Z]{4}-[2-9B-Z]{4})<', leader.get(f"{group}/invitations").text)
    assert found
    return found[1]


def typed(visitor: Visitor, code: str) -> int:
    return visitor.post("/groups/join", {"code": code}).status_code


@pytest.fixture
def led(hall: Hall) -> tuple[Visitor, str]:
    leader = hall.enter(LEADER)
    return leader, make(leader)


def test_somebody_with_an_account_types_the_code_and_joins(hall: Hall, led: tuple[Visitor, str]) -> None:
    code = a_code(*led)
    learner = hall.enter(LEARNER)
    answer = learner.post("/groups/join", {"code": f" {code.lower().replace('-', ' ')} "})
    assert (answer.status_code, answer.location) == (303, "/join/code"), "the code stands in no address"
    page = learner.get("/join/code").text
    assert "Join Sluice watchers" in page
    assert learner.post("/groups/enter/code").status_code == 303
    assert (LEARNER.name, "member", True) in memberships(hall.store)


def test_somebody_without_an_account_joins_hall_and_group_in_one(hall: Hall, led: tuple[Visitor, str]) -> None:
    code = a_code(*led)
    visitor = hall.visitor()
    assert typed(visitor, code) == 303
    assert visitor.post("/join/code", NEW).status_code == 303
    assert ("Fen Okonedo", "member", True) in memberships(hall.store)


def test_the_code_is_shown_once_and_stored_nowhere(hall: Hall, led: tuple[Visitor, str]) -> None:
    leader, group = led
    code = a_code(leader, group)
    assert code not in leader.get(f"{group}/invitations").text
    with hall.store.look() as db:
        row = db.scalars(select(InvitationRow)).one()
        stored = " ".join(str(getattr(row, column.key)) for column in InvitationRow.__table__.columns)
    assert code not in stored
    assert code.replace("-", "") not in stored


@pytest.mark.parametrize("over", ["never given", "ended", "expired", "no places left", "group archived"])
def test_a_code_that_is_over_and_one_never_given_are_told_alike(hall: Hall, led: tuple[Visitor, str], over: str) -> None:
    leader, group = led
    code = a_code(leader, group, places="1")
    learner, stranger = hall.enter(LEARNER), hall.enter(STRANGER)
    if over == "never given":
        code = "2222-2222"
    elif over == "ended":
        assert leader.post(f"{group}/invitations/1/end").status_code == 303
    elif over == "expired":
        hall.clock.at += timedelta(days=7, minutes=1)
        stranger = hall.enter(STRANGER, known=True)
    elif over == "no places left":
        typed(learner, code)
        assert learner.post("/groups/enter/code").status_code == 303
    else:
        assert leader.post(f"{group}/archive").status_code == 303
    answer = stranger.post("/groups/join", {"code": code})
    assert (answer.status_code, "This code does not work, or no longer" in answer.text) == (422, True)
    assert "Sluice watchers" not in answer.text


def test_a_code_typed_in_time_lets_nobody_in_after_it_was_ended(hall: Hall, led: tuple[Visitor, str]) -> None:
    leader, group = led
    learner = hall.enter(LEARNER)
    assert typed(learner, a_code(leader, group)) == 303
    leader.post(f"{group}/invitations/1/end")
    assert learner.get("/join/code").status_code == 404
    assert learner.post("/groups/enter/code").status_code == 404


def test_a_code_is_no_token_and_code_alone_is_no_code(hall: Hall, led: tuple[Visitor, str]) -> None:
    code = a_code(*led)
    learner = hall.enter(LEARNER)
    for token in (code, code.replace("-", ""), "code"):
        assert learner.get(f"/join/{token}").status_code == 404, "else guesses by address would not be counted"
        assert learner.post(f"/groups/enter/{token}").status_code == 404


def test_guesses_are_counted_by_place_even_where_one_of_them_is_right(
    hall: Hall, led: tuple[Visitor, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "JOIN_CODE", limits.Limit("join code", limits.JOIN_CODE.what, 4, timedelta(minutes=15)))
    code = a_code(*led)
    stranger = hall.enter(STRANGER)
    assert [typed(stranger, guess) for guess in ("2222-2222", code, "3333-3333", "4444-4444", code)] == [422, 303, 422, 422, 429]
    assert typed(hall.visitor(), code) == 429, "another browser at the same place"
    hall.clock.move(minutes=15)
    assert typed(hall.visitor(), code) == 303


def test_guesses_from_everywhere_are_counted_together(hall: Hall, led: tuple[Visitor, str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "JOIN_CODE_HALL", limits.Limit("join code hall", limits.JOIN_CODE_HALL.what, 3, timedelta(hours=1)))
    code = a_code(*led)
    places = ["192.0.2.1", "192.0.2.2", "198.51.100.3", "203.0.113.4"]
    statuses = [hall.visitor().post("/groups/join", {"code": code}, environ_base={"REMOTE_ADDR": place}).status_code for place in places]
    assert statuses == [303, 303, 303, 429]


def test_a_code_holds_two_weeks_at_most(led: tuple[Visitor, str]) -> None:
    leader, group = led
    answer = leader.post(f"{group}/invitations", {"places": "5", "days": "15", "note": "", "with_code": "yes"})
    assert (answer.status_code, "A code holds 14 days at most" in answer.text) == (422, True)


@pytest.mark.parametrize("code", ["", "é\ud800", "x" * 50, "' OR 1=1 --"])
def test_what_is_no_code_is_refused_like_one(hall: Hall, led: tuple[Visitor, str], code: str) -> None:
    a_code(*led)
    assert typed(hall.visitor(), code.encode("utf-8", "replace").decode()) == 422
