"""The door of the hall, as a browser meets it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select

from drillhall.people import hall as halls
from drillhall.people import invitations, links, sign_ins
from drillhall.people.limits import JOIN, PASSPHRASE, SIGN_IN_ONE, SIGN_IN_PLACE
from drillhall.store.models.people import AccountRow, SettingRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.visits import Hall, Visitor, open_hall


def _signs_in(visitor: Visitor, name: str = LEARNER.name, passphrase: str = LEARNER.passphrase, **more: str) -> int:
    return visitor.post("/sign-in", {"name": name, "passphrase": passphrase} | more).status_code


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


def test_a_wrong_passphrase_keeps_the_name_and_never_the_passphrase(hall: Hall) -> None:
    hall.add(KEEPER, is_keeper=True)
    answer = hall.visitor().post("/sign-in", {"name": KEEPER.name, "passphrase": "a wrong one, typed", "stay": "yes"})
    assert answer.status_code == 422
    assert f'value="{KEEPER.name}"' in answer.text
    assert "checked" in answer.text
    assert "a wrong one" not in answer.text
    assert "do not belong together" in answer.text


def test_a_session_given_by_somebody_else_is_not_the_one_signed_in_with(hall: Hall) -> None:
    """Session fixation: the token is new at sign-in, whatever the browser showed before."""
    hall.add(LEARNER)
    visitor = hall.visitor()
    thief = hall.enter(STRANGER)
    name, planted = next((key, value) for key, value in thief.cookies().items() if "-in-" in key)
    visitor.client.set_cookie(name, planted)
    form_before = visitor.token()
    assert _signs_in(visitor) == 303
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
        assert _signs_in(visitor, passphrase="guess after guess") == 422
    answer = visitor.post("/sign-in", {"name": LEARNER.name, "passphrase": LEARNER.passphrase})
    assert answer.status_code == 429
    assert int(answer.headers["Retry-After"]) == SIGN_IN_ONE.window.total_seconds()
    assert "Try again in 15 minutes" in answer.text
    hall.clock.move(minutes=15)
    assert _signs_in(visitor) == 303


def test_a_locked_name_is_still_open_from_elsewhere(hall: Hall) -> None:
    hall.add(LEARNER)
    for _ in range(SIGN_IN_ONE.most + 1):
        _signs_in(hall.visitor(), passphrase="guess after guess")
    visitor = hall.visitor()
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase}
    assert visitor.post("/sign-in", fields, environ_overrides={"REMOTE_ADDR": "192.0.2.9"}).status_code == 303


def test_guessing_through_many_names_ends_too(hall: Hall) -> None:
    visitor = hall.visitor()
    statuses = [_signs_in(visitor, name=f"Name {number}") for number in range(SIGN_IN_PLACE.most + 1)]
    assert (statuses[-2], statuses[-1]) == (422, 429)


def test_a_right_try_gives_the_tries_back(hall: Hall) -> None:
    hall.add(LEARNER)
    for _ in range(2):
        for _ in range(SIGN_IN_ONE.most - 1):
            assert _signs_in(hall.visitor(), passphrase="guess after guess") == 422
        assert _signs_in(hall.visitor()) == 303


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


def test_the_first_run_makes_the_keeper_and_leads_in(hall: Hall) -> None:
    token = hall.first_run_token()
    visitor = hall.visitor()
    assert "A new hall" in visitor.get(f"/first-run/{token}").text
    answer = visitor.post(f"/first-run/{token}", {"name": KEEPER.name, "passphrase": KEEPER.passphrase, "zone": KEEPER.zone})
    assert (answer.status_code, answer.location) == (303, "/")
    assert visitor.get("/hall").status_code == 200
    with hall.store.look() as db:
        assert db.scalars(select(AccountRow.zone)).one() == KEEPER.zone
    for path in (f"/first-run/{token}", f"/first-run/{hall.first_run_token()}"):
        assert hall.visitor().get(path).status_code == 404


@pytest.mark.parametrize(
    ("name", "passphrase", "why"),
    [
        ("", KEEPER.passphrase, "Write a name"),
        (KEEPER.name, "only twelve.", "it needs at least 15"),
        (KEEPER.name, f"{KEEPER.name} 2031", "your name"),
    ],
)
def test_a_first_run_that_is_refused_keeps_the_link_and_the_name(hall: Hall, name: str, passphrase: str, why: str) -> None:
    token = hall.first_run_token()
    visitor = hall.visitor()
    answer = visitor.post(f"/first-run/{token}", {"name": name, "passphrase": passphrase, "zone": KEEPER.zone})
    assert answer.status_code == 422
    assert why in answer.text
    assert f'value="{name}"' in answer.text
    assert f'<option value="{KEEPER.zone}" selected>' in answer.text
    assert passphrase not in answer.text
    assert visitor.get(f"/first-run/{token}").status_code == 200


def test_a_zone_that_is_none_begins_days_in_utc(hall: Hall) -> None:
    token = hall.first_run_token()
    fields = {"name": KEEPER.name, "passphrase": KEEPER.passphrase, "zone": "Mars/Olympus"}
    assert hall.visitor().post(f"/first-run/{token}", fields).status_code == 303
    with hall.store.look() as db:
        assert db.scalars(select(AccountRow.zone)).one() == "UTC"


def _invitation(hall: Hall, places: int = 1) -> str:
    keeper = hall.add(KEEPER, is_keeper=True)
    with hall.store.work() as db:
        return invitations.invite(db, by=keeper, at=hall.clock(), places=places)


def test_joining_by_a_link(hall: Hall) -> None:
    path = f"/join/{_invitation(hall)}"
    visitor = hall.visitor()
    assert "Join the hall" in visitor.get(path).text
    answer = visitor.post(path, {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "zone": LEARNER.zone, "old_enough": "yes"})
    assert (answer.status_code, answer.location) == (303, "/")
    assert visitor.is_in()
    assert visitor.get("/hall").status_code == 404
    assert hall.visitor().get(path).status_code == 404


def test_a_name_that_is_taken_is_told_at_its_field(hall: Hall) -> None:
    path = f"/join/{_invitation(hall)}"
    answer = hall.visitor().post(path, {"name": KEEPER.name.lower(), "passphrase": LEARNER.passphrase, "old_enough": "yes"})
    assert answer.status_code == 422
    assert "already" in answer.text
    assert 'id="name-mend"' in answer.text
    assert hall.visitor().get(path).status_code == 200


@pytest.mark.parametrize("path", ["/join/wrong", "/first-run/wrong", "/step-in/wrong", "/sign-up"])
@pytest.mark.parametrize("method", ["get", "post"])
def test_doors_that_are_shut_look_as_if_they_were_not_there(hall: Hall, path: str, method: str) -> None:
    answer = getattr(hall.visitor(), method)(path)
    assert answer.status_code == 404


def test_whoever_is_younger_joins_with_a_teacher_or_leader(hall: Hall) -> None:
    path = f"/join/{_invitation(hall)}"
    answer = hall.visitor().post(path, {"name": LEARNER.name, "passphrase": LEARNER.passphrase})
    assert answer.status_code == 422
    assert "Say that you are 16 or older" in answer.text
    with hall.store.work() as db:
        db.add(SettingRow(key=halls.LEAST_AGE, value=13))
    assert "I am 13 or older" in hall.visitor().get(path).text


def test_joining_is_limited_by_place(hall: Hall) -> None:
    path = f"/join/{_invitation(hall, places=200)}"
    visitor = hall.visitor()
    for _ in range(JOIN.most):
        assert visitor.post(path, {"name": LEARNER.name, "passphrase": "short"}).status_code == 422
    assert visitor.post(path, {"name": LEARNER.name, "passphrase": LEARNER.passphrase}).status_code == 429


def test_anybody_joins_a_hall_that_is_open(hall: Hall) -> None:
    hall.add(KEEPER, is_keeper=True)
    with hall.store.work() as db:
        halls.set_open(db, is_open=True)
    assert 'href="/sign-up"' in hall.visitor().get("/sign-in").text
    visitor = hall.visitor()
    assert visitor.post("/sign-up", {"name": LEARNER.name, "passphrase": "tiny"}).status_code == 422
    assert visitor.post("/sign-up", {"name": LEARNER.name, "passphrase": LEARNER.passphrase}).status_code == 422
    assert visitor.post("/sign-up", {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "old_enough": "yes"}).status_code == 303


def test_a_new_hall_says_where_to_begin(hall: Hall) -> None:
    page = hall.visitor().get("/sign-in").text
    assert "has no keeper yet" in page
    assert "<form" not in page


def _step_in_token(hall: Hall) -> str:
    person = hall.add(LEARNER)
    with hall.store.work() as db:
        return links.make_link(db, links.STEP_IN, until=hall.clock() + timedelta(hours=1), account_id=person.id)


def test_one_steps_into_the_demo_hall_by_a_button_once(sqlite_store: Store, tmp_path: Path) -> None:
    demo = open_hall(sqlite_store, tmp_path, demo=True)
    path = f"/step-in/{_step_in_token(demo)}"
    visitor = demo.visitor()
    for _ in range(2):  # looking does not use the link up
        assert f"Step in as {LEARNER.name}" in visitor.get(path).text
    assert visitor.post(path).status_code == 303
    assert LEARNER.name in visitor.get("/settings").text
    assert demo.visitor().post(path).status_code == 404


def test_outside_the_demo_hall_nobody_steps_in(hall: Hall) -> None:
    path = f"/step-in/{_step_in_token(hall)}"
    assert hall.visitor().get(path).status_code == 404
    assert hall.visitor().post(path).status_code == 404


WISHES = {"zone": "Asia/Kathmandu", "minutes_a_day": "25", "target_recall": "85", "new_a_day": "0", "round_length": "", "colour_vision": ""}


def test_preferences_are_kept_and_shown(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    answer = visitor.post("/settings", WISHES | {"single_keys": "yes", "colour_vision": "red-green", "round_length": "4"})
    assert answer.status_code == 303
    page = visitor.get(answer.location).text
    for shown in ('value="25"', 'value="85"', '<option value="Asia/Kathmandu" selected>', '<option value="red-green" selected>', "checked"):
        assert shown in page


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"minutes_a_day": "ten"}, "Minutes a day must be a whole number"),
        ({"minutes_a_day": "0"}, "from 1 to 120"),
        ({"target_recall": "99"}, "from 70 to 97"),
        ({"new_a_day": "-1"}, "from 0 to 10"),
        ({"round_length": "9"}, "from 2 to 6"),
        ({"zone": "Mars/Olympus"}, "no time zone"),
        ({"colour_vision": "<script>"}, "about colours"),
    ],
)
def test_a_wish_that_cannot_be_keeps_what_was_typed(hall: Hall, change: dict[str, str], why: str) -> None:
    visitor = hall.enter(LEARNER)
    answer = visitor.post("/settings", WISHES | {"minutes_a_day": "26"} | change)
    assert answer.status_code == 422
    assert why in answer.text
    assert f'value="{change.get("minutes_a_day", "26")}"' in answer.text
    assert "<script>" not in answer.text
    assert 'value="10"' in visitor.get("/settings").text


def test_changing_the_passphrase_leaves_this_device_alone_in(hall: Hall) -> None:
    here = hall.enter(LEARNER)
    there = hall.enter(LEARNER, known=True)
    answer = here.post("/passphrase", {"old": LEARNER.passphrase, "new": "a kettle sings on the quay"})
    assert (answer.status_code, answer.location) == (303, "/devices?changed=yes")
    assert here.is_in()
    assert not there.is_in()
    assert _signs_in(hall.visitor()) == 422


@pytest.mark.parametrize(
    ("old", "new", "field"), [("a wrong one", "a kettle sings on the quay", "old"), (LEARNER.passphrase, "tiny", "new")]
)
def test_a_passphrase_that_is_refused_is_not_shown_again(hall: Hall, old: str, new: str, field: str) -> None:
    answer = hall.enter(LEARNER).post("/passphrase", {"old": old, "new": new})
    assert answer.status_code == 422
    assert f'id="{field}-mend"' in answer.text
    assert old not in answer.text
    assert f'value="{new}"' not in answer.text


def test_whoever_found_a_device_open_cannot_guess_its_passphrase_for_long(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    for _ in range(PASSPHRASE.most):
        assert visitor.post("/passphrase", {"old": "guess", "new": "a kettle sings on the quay"}).status_code == 422
    assert visitor.post("/passphrase", {"old": LEARNER.passphrase, "new": "a kettle sings on the quay"}).status_code == 429


def test_devices_are_ended_one_by_one_and_all_at_once(hall: Hall) -> None:
    here, there = hall.enter(LEARNER), hall.enter(LEARNER, known=True)
    page = here.get("/devices").text
    assert page.count("Sign it out") == 1
    action = page.split('action="/devices/')[1].split('"')[0]
    assert here.post(f"/devices/{action}").status_code == 303
    assert not there.is_in()
    third = hall.enter(LEARNER, known=True)
    assert here.post("/sign-out-everywhere").status_code == 303
    assert not here.is_in()
    assert not third.is_in()


def test_nobody_ends_anothers_device(hall: Hall) -> None:
    hers = hall.enter(LEARNER)
    with hall.store.look() as db:
        number = db.scalar(select(func.max(sign_ins.SignInRow.id)))
    assert hall.enter(STRANGER).post(f"/devices/{number}/end").status_code == 404
    assert hers.post(f"/devices/{number}/end").status_code == 403  # this one has a button of its own
    assert hers.is_in()


def test_what_is_typed_as_a_name_is_shown_as_text(hall: Hall) -> None:
    path = f"/join/{_invitation(hall)}"
    answer = hall.visitor().post(path, {"name": '"><script>alert(1)</script>', "passphrase": "tiny"})
    assert "<script>alert" not in answer.text
    assert "&lt;script&gt;" in answer.text
