"""Passkeys as a browser meets them: made with passphrase and second step, the second step, the whole way in, and refused where they lie."""

from __future__ import annotations

import re
import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from drillhall.people import accounts, ceremonies, limits
from drillhall.store.models.people import AuditRow
from drillhall.store.models.rosters import GivenPassphraseRow
from drillhall.store.session import Store
from tests.authenticator import UP, UV, Authenticator
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.visits import Hall, Visitor, open_hall, signs_in

OWN = {"passphrase": LEARNER.passphrase}


@pytest.fixture
def visitor(hall: Hall) -> Visitor:
    """The learner, signed in."""
    return hall.enter(LEARNER)


def _asked(visitor: Visitor, of: str) -> dict[str, Any]:
    answer = visitor.post(f"/passkeys/{'new/ask' if of == 'new' else f'ask/{of}'}")
    assert answer.status_code == 200, answer.text
    return dict(answer.get_json())


def _make(visitor: Visitor, device: Authenticator, name: str = "telephone", **shown: str) -> list[str]:
    """Make a passkey and return the spare codes that are shown afterwards."""
    begun = visitor.post("/passkeys", {"name": name} | OWN | shown)
    assert begun.location == "/passkeys/new", begun.text
    made = visitor.post("/passkeys/new", {"passkey": device.make(_asked(visitor, "new"))})
    assert made.status_code == 303, made.text
    return re.findall(r"[2-9B-Z]{4}-[2-9B-Z]{4}-[2-9B-Z]{4}", visitor.get(made.location).text)


def _by_passkey(visitor: Visitor, device: Authenticator, **bent: Any) -> int:
    return visitor.post("/sign-in/passkey", {"passkey": device.show(_asked(visitor, "anybody"), **bent)}).status_code


def _acts(hall: Hall) -> list[str]:
    with hall.store.look() as db:
        return list(db.scalars(select(AuditRow.act).order_by(AuditRow.id)))


def test_it_is_the_second_step_and_the_whole_way_in(hall: Hall, visitor: Visitor) -> None:
    device, elsewhere = Authenticator(), hall.enter(LEARNER, known=True)
    before = visitor.cookies()
    spare = _make(visitor, device)
    assert len(spare) == 10
    assert {name: value for name, value in visitor.cookies().items() if "-in-" in name}.items().isdisjoint(before.items())
    assert not elsewhere.is_in()
    assert "not used yet" in visitor.get("/passkeys").text
    second = hall.visitor()
    assert second.post("/sign-in", {"name": LEARNER.name, "next": "/standing"} | OWN).location == "/sign-in/code"
    assert not second.is_in()
    assert [one["id"] for one in _asked(second, "door")["allowCredentials"]] != []
    assert second.post("/sign-in/code", {"passkey": device.show(_asked(second, "door"))}).location == "/standing"
    alone = hall.visitor()
    asked = _asked(alone, "anybody")
    assert (asked["allowCredentials"], asked["userVerification"], asked["rpId"]) == ([], "required", "localhost")
    sent = {"passkey": device.show(asked), "stay": "yes", "next": "//elsewhere.example"}
    assert alone.post("/sign-in/passkey", sent).location == "/"
    assert alone.is_in()
    assert "last used" in alone.get("/passkeys").text
    with hall.store.look() as db:
        assert "signed in by a passkey" in db.scalars(select(AuditRow.act)).all()
    by_spare = hall.visitor()
    signs_in(by_spare)
    assert by_spare.post("/sign-in/code", {"code": spare[0]}).location == "/second-step?spared=yes"
    assert "1 passkey" in by_spare.get("/second-step").text


def test_nothing_that_was_shown_before_or_for_something_else_opens(hall: Hall, visitor: Visitor) -> None:
    device = Authenticator(step=0)
    _make(visitor, device)
    thief = hall.visitor()
    said = device.show(_asked(thief, "anybody"))
    kept = thief.cookies()
    assert thief.post("/sign-in/passkey", {"passkey": said}).status_code == 303
    thief.post("/sign-out")
    assert thief.post("/sign-in/passkey", {"passkey": said}).status_code == 422  # asked for nothing
    for name, value in kept.items():  # the session of then, as who copied it has it
        thief.client.set_cookie(name, value, domain="localhost")
    assert thief.post("/sign-in/passkey", {"passkey": said}).status_code == 422
    other = hall.visitor()
    _asked(other, "anybody")
    assert other.post("/sign-in/passkey", {"passkey": device.show(_asked(thief, "anybody"))}).status_code == 422
    signs_in(other)
    for sent in ({"passkey": device.show(_asked(other, "anybody"))}, {"passkey": "{}"}, {"passkey": "x" * 20_001}):
        assert other.post("/sign-in/code", sent).status_code == 422
    assert other.post("/sign-in/passkey", {"passkey": device.show(_asked(other, "door"))}).status_code == 422
    assert not other.is_in()
    assert not thief.is_in()
    assert "passkey refused" in _acts(hall)
    assert "Passkey refused" in visitor.get("/you/kept").text


def test_a_lie_a_copy_and_one_taken_off_open_nothing_and_guesses_are_counted(hall: Hall, visitor: Visitor) -> None:
    device = Authenticator()
    spare = _make(visitor, device)
    assert _by_passkey(hall.visitor(), device) == 303
    for bent in ({"origin": "https://elsewhere.example"}, {"flags": UP}, {"flags": UV}, {"count": 1}):
        assert _by_passkey(hall.visitor(), device, **bent) == 422
    assert _acts(hall)[-1] == "copied passkey refused"
    assert visitor.post("/passkeys/1/off", {"passphrase": "not hers", "code": spare[0]}).status_code == 422
    assert visitor.post("/passkeys/1/off", OWN | {"code": "000"}).status_code == 422
    assert visitor.post("/passkeys/2/off", OWN | {"code": spare[1]}).status_code == 404
    assert visitor.post("/passkeys/1/off", OWN | {"passkey": device.show(_asked(visitor, "own"))}).location == "/passkeys"
    assert "You have none yet" in visitor.get("/passkeys").text
    assert _by_passkey(hall.visitor(), device) == 422
    assert signs_in(hall.visitor()) == 303
    _make(visitor, device)
    for _ in range(limits.SECOND_STEP.most):
        assert _by_passkey(hall.visitor(), device, origin="https://elsewhere.example") == 422
    assert _by_passkey(hall.visitor(), device) == 429


def test_another_one_wants_passphrase_and_second_step_and_goes_by_ten_minutes(hall: Hall, visitor: Visitor) -> None:
    device, other = Authenticator(), hall.enter(STRANGER)
    assert visitor.get("/passkeys/new").status_code == 404
    assert visitor.post("/passkeys/new/ask").status_code == 404
    for sent in ({"name": "telephone", "passphrase": "not hers"}, {"name": " "} | OWN, {"name": "n" * 61} | OWN):
        assert visitor.post("/passkeys", sent).status_code == 422
    spare = _make(visitor, device)
    assert visitor.post("/passkeys", {"name": "laptop"} | OWN).status_code == 422
    assert _make(visitor, Authenticator(), "laptop", passkey=device.show(_asked(visitor, "own"))) == []
    assert visitor.post("/passkeys", {"name": "tablet", "code": spare[0]} | OWN).status_code == 303
    assert (
        visitor.post("/passkeys/new", {"passkey": device.make(_asked(visitor, "new"), origin="https://elsewhere.example")}).status_code
        == 422
    )
    hall.clock.move(minutes=11)
    assert visitor.get("/passkeys/new").status_code == 404
    page = visitor.get("/passkeys").text
    assert ("telephone" in page, "laptop" in page, "tablet" in page) == (True, True, False)
    assert other.get("/passkeys/1/off").status_code == 404
    assert hall.visitor().post("/passkeys/ask/own").status_code == 303
    assert hall.visitor().post("/passkeys/ask/door").status_code == 404


@pytest.mark.parametrize("then", ["reset", "slip", "closed"])
def test_it_is_no_way_in_by_itself_once_the_passphrase_was_reset_or_the_account_closed(hall: Hall, visitor: Visitor, then: str) -> None:
    device, new = Authenticator(), "sand between all my toes"
    _make(visitor, device)
    keeper = hall.enter(KEEPER, is_keeper=True)
    with hall.store.work() as db:
        whom = accounts.the_person_called(db, LEARNER.name).id
        if then == "reset":
            accounts.reset_passphrase(db, name=LEARNER.name, passphrase=new, at=hall.clock(), by=None)
    if then == "slip":
        group = keeper.post("/groups", {"title": "Class", "kind": "class"})
        assert group.status_code == 303
        with hall.store.work() as db:
            until = hall.clock() + timedelta(days=1)
            db.add(GivenPassphraseRow(account_id=whom, group_id=1, given_by=None, batch="b", at=hall.clock(), until=until))
    if then == "closed":
        keeper.post(f"/hall/people/{whom}/close")
    refused = hall.visitor()
    assert _by_passkey(refused, device) == 422
    assert not refused.is_in()
    if then == "reset":
        again = hall.visitor()
        assert signs_in(again, passphrase=new) == 303
        sent = {"passkey": device.show(_asked(again, "door"))}
        assert again.post("/sign-in/code", sent).location == "/passphrase?reset=yes"
        hall.clock.move(minutes=1)
        again.post("/passphrase", {"old": new, "new": LEARNER.passphrase})
        assert _by_passkey(hall.visitor(), device) == 303


def test_they_are_bound_to_the_public_address_and_told_nowhere_else(sqlite_store: Store, tmp_path: Path) -> None:
    hall = open_hall(sqlite_store, tmp_path, public_url="https://hall.example")
    visitor, device = hall.enter(LEARNER), Authenticator("https://hall.example")
    _make(visitor, device)
    assert _asked(hall.visitor(), "anybody")["rpId"] == "hall.example"
    assert _by_passkey(hall.visitor(), device, origin="http://hall.example") == 422
    assert _by_passkey(hall.visitor(), device) == 303
    here = Visitor(hall.app, "http://localhost")
    assert "data-passkey" not in here.get("/sign-in").text
    assert here.post("/passkeys/ask/anybody").status_code == 404


@pytest.mark.parametrize("base", ["http://127.0.0.1", "http://[::1]:8410"])
def test_an_address_of_digits_is_no_place_for_them(hall: Hall, visitor: Visitor, base: str) -> None:
    visitor.base = base
    assert "data-passkey" not in visitor.get("/sign-in").text
    assert visitor.post("/passkeys/ask/anybody").status_code == 404


def test_without_the_extra_nothing_is_said_of_them(hall: Hall, visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "passkey" in visitor.get("/settings").text
    monkeypatch.setattr(ceremonies, "find_spec", lambda _: None)
    for address in ("/settings", "/second-step", "/sign-in"):
        assert "passkey" not in visitor.get(address).text.lower().replace("/static/", ""), address
    assert visitor.get("/passkeys").status_code == 404
    assert visitor.post("/passkeys/ask/anybody").status_code == 404
    assert visitor.post("/passkeys", {"name": "telephone"} | OWN).status_code == 404
    monkeypatch.setitem(sys.modules, "webauthn.helpers", None)  # as where it is not installed: to import it would fail
    said = '{"id": "x", "rawId": "x", "response": {}, "type": "public-key"}'
    assert hall.visitor().post("/sign-in/passkey", {"passkey": said}).status_code == 404
