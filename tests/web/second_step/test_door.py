"""The second step as a browser meets it: no way in by the passphrase alone, tries counted, each code once, a new session each time."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from drillhall.core.one_time import code_of, step_of
from drillhall.people import accounts
from drillhall.people.limits import SECOND_STEP
from drillhall.store.models.people import AuditRow
from tests.cast import LEARNER, Someone
from tests.visits import Hall, Visitor, signs_in


class Phone:
    """A device that shows the codes of a secret."""

    def __init__(self, hall: Hall, secret: bytes) -> None:
        self.hall, self.secret = hall, secret

    def code(self) -> str:
        self.hall.clock.move(seconds=60)
        return code_of(self.secret, step_of(self.hall.clock()))


@pytest.fixture
def visitor(hall: Hall) -> Visitor:
    """The learner, signed in."""
    return hall.enter(LEARNER)


def set_up(hall: Hall, visitor: Visitor) -> tuple[Phone, list[str]]:
    assert visitor.post("/second-step", {"passphrase": LEARNER.passphrase}).location == "/second-step/set-up"
    letters = re.search(r"secret into it: <b class=\"offered\">([A-Z2-7 ]+)</b>", visitor.get("/second-step/set-up").text)
    assert letters is not None
    phone = Phone(hall, _from_letters(letters[1]))
    before = visitor.cookies()
    assert visitor.post("/second-step/set-up", {"code": phone.code()}).location == "/second-step/spare-codes"
    assert {name: value for name, value in visitor.cookies().items() if "-in-" in name}.items().isdisjoint(before.items())
    shown = re.findall(r"[2-9B-Z]{4}-[2-9B-Z]{4}-[2-9B-Z]{4}", visitor.get("/second-step/spare-codes").text)
    return phone, shown


def _from_letters(letters: str) -> bytes:
    from base64 import b32decode

    return b32decode(letters.replace(" ", ""))


def test_the_passphrase_alone_is_no_way_in_and_a_code_is_one_once(hall: Hall, visitor: Visitor) -> None:
    phone, spare = set_up(hall, visitor)
    assert len(spare) == 10
    assert spare[0] not in visitor.get("/second-step/spare-codes").text  # shown once
    device = hall.visitor()
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "next": "/standing"}
    assert device.post("/sign-in", fields).location == "/sign-in/code"
    assert not device.is_in()
    half_way = device.cookies()
    wrong = device.post("/sign-in/code", {"code": "abcdef"})
    assert (wrong.status_code, "abcdef" in wrong.text, device.is_in()) == (422, False, False)
    code = phone.code()
    assert device.post("/sign-in/code", {"code": code}).location == "/standing"
    assert device.is_in()
    assert half_way.items().isdisjoint(device.cookies().items())
    replayed = hall.visitor()
    replayed.post("/sign-in", fields)
    assert replayed.post("/sign-in/code", {"code": code}).status_code == 422
    assert replayed.post("/sign-in/code", {"code": spare[0]}).location == "/second-step?spared=yes"
    assert "9 are left" in replayed.get("/second-step?spared=yes").text
    assert "Code refused" in replayed.get("/you/kept").text
    with hall.store.look() as db:
        acts = [act for act in db.scalars(select(AuditRow.act)) if act.startswith("signed in")]
    assert acts == ["signed in", *["signed in with a second step"] * 2]


def test_codes_are_not_guessed_for_long(hall: Hall, visitor: Visitor) -> None:
    phone, _ = set_up(hall, visitor)
    device = hall.visitor()
    signs_in(device)
    for _ in range(SECOND_STEP.most):
        assert device.post("/sign-in/code", {"code": "123"}).status_code == 422
    assert device.post("/sign-in/code", {"code": phone.code()}).status_code == 429
    assert not device.is_in()


@pytest.mark.parametrize("then", ["nothing shown", "ten minutes", "another passphrase", "closed"])
def test_half_way_in_holds_for_a_while_and_for_that_passphrase(hall: Hall, visitor: Visitor, then: str) -> None:
    phone, _ = set_up(hall, visitor)
    device = hall.visitor()
    if then != "nothing shown":
        signs_in(device)
        assert device.get("/sign-in/code").status_code == 200
    if then == "ten minutes":
        hall.clock.move(minutes=11)
    with hall.store.work() as db:
        whom = accounts.the_person_called(db, LEARNER.name)
        if then == "another passphrase":
            accounts.reset_passphrase(db, name=LEARNER.name, passphrase="sand between all my toes", at=hall.clock(), by=None)
        if then == "closed":
            keeper = accounts.make_account(db, name="Runa", passphrase="a lantern under the stairs", at=hall.clock())
            accounts.retire_account(db, whom.id, by=keeper, at=hall.clock())
    assert device.post("/sign-in/code", {"code": phone.code()}).status_code == 404


def test_it_goes_off_with_passphrase_and_code_alone(hall: Hall, visitor: Visitor) -> None:
    phone, spare = set_up(hall, visitor)
    right = {"passphrase": LEARNER.passphrase}
    for sent in ({"passphrase": "not hers", "code": phone.code()}, right | {"code": "000"}, right):
        assert visitor.post("/second-step/off", sent).status_code == 422
    assert visitor.post("/second-step/spare-codes", {"code": "000"}).status_code == 422
    assert visitor.post("/second-step/spare-codes", {"code": spare[0]}).status_code == 303
    assert visitor.get("/second-step/set-up").status_code == 404
    assert visitor.post("/second-step/off", right | {"code": phone.code()}).location == "/second-step"
    assert signs_in(hall.visitor()) == 303


def test_setting_up_asks_for_the_passphrase_and_a_right_code(hall: Hall, visitor: Visitor) -> None:
    assert visitor.post("/second-step", {"passphrase": "not hers"}).status_code == 422
    assert visitor.post("/second-step/set-up", {"code": "000000"}).status_code == 404
    visitor.post("/second-step", {"passphrase": LEARNER.passphrase})
    assert visitor.post("/second-step/set-up", {"code": "000"}).status_code == 422
    device = hall.visitor()
    assert signs_in(device) == 303  # not on until a first code was shown
    assert device.is_in()


def test_whoever_came_to_lead_with_a_short_passphrase_is_told_at_sign_in(hall: Hall) -> None:
    leader = Someone("Halvard Minniken", "mud at ebb", "Europe/Oslo")
    hall.add(leader)
    fields = {"name": leader.name, "passphrase": leader.passphrase, "next": "/groups"}
    assert hall.visitor().post("/sign-in", fields).location == "/groups"
    visitor = hall.enter(leader, known=True)
    visitor.post("/groups", {"title": "Club", "kind": "club"})
    device = hall.visitor()
    assert device.post("/sign-in", fields).location == "/passphrase?short=yes"
    assert "too short to stand alone" in device.get("/passphrase?short=yes").text
