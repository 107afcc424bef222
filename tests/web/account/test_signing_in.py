"""Signing in and out, as a browser meets it: sessions, form tokens, limits, where one goes on to."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.people import limits, sign_ins
from drillhall.people.limits import SIGN_IN_ONE, SIGN_IN_PLACE
from drillhall.store.models.people import AuditRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.visits import Hall, open_hall, signs_in


def test_signing_in_and_out(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    assert visitor.is_in()
    kept = visitor.cookies()
    answer = visitor.post("/sign-out")
    assert (answer.status_code, answer.location) == (303, "/sign-in")
    assert answer.headers["Clear-Site-Data"] == '"cache"'
    assert not visitor.is_in()
    for name, value in kept.items():  # what somebody kept of the cookie is worth nothing
        visitor.client.set_cookie(name, value)
    assert not visitor.is_in()


@pytest.mark.parametrize("address", ["/", "/standing", "/settings", "/parts-of-a-bird", "/nowhere"])
def test_the_way_out_stands_on_every_page_of_whoever_is_in(hall: Hall, address: str) -> None:
    way_out = '<form method="post" action="/sign-out">'
    assert hall.enter(LEARNER).get(address).text.count(way_out) == 1
    assert way_out not in hall.visitor().get(address).text


ENDED = "Your sign-in here has ended."


def test_whoever_is_signed_out_by_the_hall_is_told_why_and_what_for(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    hall.clock.move(hours=13)
    page = visitor.get(visitor.get("/standing").location).text
    assert ENDED in page
    assert "after 12 hours without use or 45 days" in page
    assert ENDED not in visitor.post("/sign-in", {"name": "nobody", "passphrase": "a wrong one"}).text


def test_a_sign_in_that_never_was_is_told_the_same_as_one_that_is_over(hall: Hall) -> None:
    """What a browser shows may be anybody's, or nobody's: the page tells no stranger which accounts there are."""
    over, made_up = hall.enter(LEARNER), hall.visitor()
    for name in over.cookies():
        made_up.client.set_cookie(name, "made-up")
    hall.clock.move(hours=13)
    pages = [re.sub(r'value="[^"]+"', "", one.get("/sign-in").text) for one in (over, made_up)]
    assert pages[0] == pages[1]
    assert ENDED in pages[0]


def test_nothing_is_said_of_an_end_to_a_stranger_nor_after_signing_out(hall: Hall) -> None:
    hall.add(KEEPER, is_keeper=True)
    visitor = hall.enter(LEARNER)
    assert ENDED not in visitor.get("/sign-in").text
    visitor.post("/sign-out")
    assert ENDED not in visitor.get("/sign-in").text
    assert ENDED not in hall.visitor().get("/sign-in").text


def test_a_wrong_passphrase_keeps_the_name_and_never_the_passphrase(hall: Hall) -> None:
    hall.add(KEEPER, is_keeper=True)
    answer = hall.visitor().post("/sign-in", {"name": KEEPER.name, "passphrase": "a wrong one, typed", "stay": "yes"})
    assert answer.status_code == 422
    assert f'value="{KEEPER.name}"' in answer.text
    assert "checked" in answer.text
    assert "a wrong one" not in answer.text
    assert "do not belong together" in answer.text


def test_a_refused_sign_in_is_in_the_log_without_what_was_typed(hall: Hall) -> None:
    hall.add(LEARNER)
    signs_in(hall.visitor(), name="typed in the wrong field", passphrase="a wrong one")
    with hall.store.look() as db:
        assert [tuple(row) for row in db.execute(select(AuditRow.act, AuditRow.account_id, AuditRow.subject))][1:] == [
            ("sign-in refused", None, "")
        ]


def test_a_session_given_by_somebody_else_is_not_the_one_signed_in_with(hall: Hall) -> None:
    """Session fixation: the token is new at sign-in, whatever the browser showed before."""
    hall.add(LEARNER)
    visitor = hall.visitor()
    thief = hall.enter(STRANGER)
    name, planted = next((key, value) for key, value in thief.cookies().items() if "-in-" in key)
    visitor.client.set_cookie(name, planted)
    form_before = visitor.token()
    assert signs_in(visitor) == 303
    assert visitor.cookies()[name] != planted
    assert LEARNER.name in visitor.get("/settings").text
    assert not thief.is_in()  # the device's old sign-in ended with it
    assert visitor.token() != form_before


@pytest.mark.parametrize("fields", [{}, {"csrf_token": ""}, {"csrf_token": "made-up"}])
def test_a_form_without_its_token_is_refused_in_our_words(hall: Hall, fields: dict[str, str]) -> None:
    hall.add(LEARNER)
    visitor = hall.visitor()
    visitor.token()
    answer = visitor.client.post("/sign-in", data=fields | {"name": LEARNER.name, "passphrase": LEARNER.passphrase})
    assert answer.status_code == 400
    assert "no longer knows its form" in answer.text
    assert not visitor.is_in()


def test_another_visitors_token_does_not_do(hall: Hall) -> None:
    hall.add(LEARNER)
    other, visitor = hall.visitor(), hall.visitor()
    visitor.token()
    answer = visitor.client.post("/sign-in", data={"csrf_token": other.token(), "name": LEARNER.name, "passphrase": LEARNER.passphrase})
    assert answer.status_code == 400


def test_a_script_sends_the_token_as_a_header(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    without = visitor.client.post("/sign-out", headers={"Accept": "application/json"})
    assert (without.status_code, set(without.get_json())) == (400, {"sentence", "field"})
    assert visitor.client.post("/sign-out", headers={"X-CSRFToken": visitor.token()}).status_code == 303


def test_behind_https_a_form_from_elsewhere_is_refused(sqlite_store: Store, tmp_path: Path) -> None:
    far = open_hall(sqlite_store, tmp_path, public_url="https://hall.example")
    far.add(LEARNER)
    visitor = far.visitor()
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase}
    assert visitor.post("/sign-in", fields, headers={"Referer": "https://evil.example/"}).status_code == 400
    assert visitor.post("/sign-in", fields).status_code == 303


def test_ten_wrong_tries_are_enough_for_a_while(hall: Hall) -> None:
    hall.add(LEARNER)
    visitor = hall.visitor()
    for _ in range(SIGN_IN_ONE.most):
        assert signs_in(visitor, passphrase="guess after guess") == 422
    answer = visitor.post("/sign-in", {"name": LEARNER.name, "passphrase": LEARNER.passphrase})
    assert answer.status_code == 429
    assert int(answer.headers["Retry-After"]) == SIGN_IN_ONE.window.total_seconds()
    assert "Try again in 15 minutes" in answer.text
    hall.clock.move(minutes=15)
    assert signs_in(visitor) == 303


def test_a_locked_name_is_still_open_from_elsewhere(hall: Hall) -> None:
    hall.add(LEARNER)
    for _ in range(SIGN_IN_ONE.most + 1):
        signs_in(hall.visitor(), passphrase="guess after guess")
    visitor = hall.visitor()
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase}
    assert visitor.post("/sign-in", fields, environ_overrides={"REMOTE_ADDR": "192.0.2.9"}).status_code == 303


def test_guessing_through_many_names_ends_too(hall: Hall) -> None:
    visitor = hall.visitor()
    statuses = [signs_in(visitor, name=f"Name {number}") for number in range(SIGN_IN_PLACE.most + 1)]
    assert (statuses[-2], statuses[-1]) == (422, 429)


def test_guessing_at_one_name_from_many_places_ends_too(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "SIGN_IN_NAME", replace(limits.SIGN_IN_NAME, most=3))
    hall.add(LEARNER)

    def guesses_from(place: int) -> int:
        visitor = hall.visitor()
        visitor.client.environ_base.update(REMOTE_ADDR=f"192.0.2.{place}")
        return signs_in(visitor, passphrase="guess after guess")

    assert [guesses_from(place) for place in range(1, 5)] == [422, 422, 422, 429]


def test_a_right_try_gives_the_tries_back(hall: Hall) -> None:
    hall.add(LEARNER)
    for _ in range(2):
        for _ in range(SIGN_IN_ONE.most - 1):
            assert signs_in(hall.visitor(), passphrase="guess after guess") == 422
        assert signs_in(hall.visitor()) == 303


@pytest.mark.parametrize(
    ("wanted", "goes_to"),
    [("/standing", "/standing"), ("", "/"), ("//evil.example", "/"), ("https://evil.example", "/"), ("/\\evil.example", "/")],
)
def test_after_signing_in_one_goes_on_within_the_hall(hall: Hall, wanted: str, goes_to: str) -> None:
    hall.add(KEEPER, is_keeper=True)
    visitor = hall.visitor()
    page = visitor.get("/sign-in", query_string={"next": wanted}).text
    assert "evil" not in page
    answer = visitor.post("/sign-in", {"name": KEEPER.name, "passphrase": KEEPER.passphrase, "next": wanted})
    assert answer.location == goes_to


def test_a_page_that_needs_somebody_is_gone_back_to(hall: Hall) -> None:
    answer = hall.visitor().get("/devices?changed=yes")
    assert (answer.status_code, answer.location) == (303, "/sign-in?next=/devices?changed%3Dyes")


def test_a_script_without_a_sign_in_is_told_so(hall: Hall) -> None:
    answer = hall.visitor().get("/settings", headers={"Accept": "application/json"})
    assert (answer.status_code, answer.get_json()["field"]) == (401, "")


def test_an_idle_sign_in_is_over_and_use_prolongs_it(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    hall.clock.move(hours=11)
    assert visitor.is_in()  # looking alone does not prolong: a page that is read writes nothing
    hall.clock.move(hours=2)
    assert not visitor.is_in()
    visitor = hall.enter(LEARNER, known=True)
    for _ in range(3):
        hall.clock.move(hours=11)
        assert visitor.post("/settings", {"minutes_a_day": "x"}).status_code == 422
    assert visitor.is_in()


def test_staying_gives_a_cookie_that_outlives_the_browser(hall: Hall) -> None:
    hall.add(LEARNER)
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase}
    short = hall.visitor().post("/sign-in", fields).headers.getlist("Set-Cookie")
    long = hall.visitor().post("/sign-in", fields | {"stay": "yes"}).headers.getlist("Set-Cookie")
    assert not any("-in-" in line and "Max-Age" in line for line in short)
    assert any("-in-" in line and f"Max-Age={int(sign_ins.LONGEST_STAYING.total_seconds())}" in line for line in long)
