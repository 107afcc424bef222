"""Ways into the hall: the first run, invitations, an open hall, stepping into the demo hall."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.people import hall as halls
from drillhall.people import invitations, links
from drillhall.people.limits import FIRST_RUN, JOIN
from drillhall.store.models.people import AccountRow, SettingRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.visits import WISHES, Hall, open_hall, signs_in


def _invitation(hall: Hall, places: int = 1) -> str:
    keeper = hall.add(KEEPER, is_keeper=True)
    with hall.store.work() as db:
        return invitations.invite(db, by=keeper, at=hall.clock(), places=places)


def _step_in_token(hall: Hall) -> str:
    person = hall.add(LEARNER)
    with hall.store.work() as db:
        return links.make_link(db, links.STEP_IN, until=hall.clock() + timedelta(hours=1), account_id=person.id)


def test_the_whole_way_in_on_either_engine(store: Store, tmp_path: Path) -> None:
    hall = open_hall(store, tmp_path)
    keeper = hall.visitor()
    assert keeper.post(f"/first-run/{hall.first_run_token()}", {"name": KEEPER.name, "passphrase": KEEPER.passphrase}).status_code == 303
    assert keeper.post("/hall/invitations", {"note": "", "places": "1", "days": "1"}).status_code == 303
    link = keeper.get("/hall/invitations").text.split("http://localhost")[1].split("<")[0]
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "old_enough": "yes"}
    assert hall.visitor().post(link, fields).status_code == 303
    assert hall.visitor().post(link, fields | {"name": STRANGER.name}).status_code == 404
    assert signs_in(hall.visitor(), passphrase="not hers at all") == 422
    visitor = hall.enter(LEARNER, known=True)
    assert visitor.post("/settings", WISHES).status_code == 303
    assert visitor.post("/sign-out-everywhere").status_code == 303
    assert not visitor.is_in()
    assert keeper.get("/hall").status_code == 200


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
    with hall.store.work() as db:
        halls.set_open(db, is_open=True)
    assert visitor.post("/sign-up", {"name": LEARNER.name, "passphrase": LEARNER.passphrase}).status_code == 429


def test_beginning_a_hall_is_limited_too(hall: Hall) -> None:
    path = f"/first-run/{hall.first_run_token()}"
    visitor = hall.visitor()
    for _ in range(FIRST_RUN.most):
        assert visitor.post(path, {"name": KEEPER.name, "passphrase": "short"}).status_code == 422
    assert visitor.post(path, {"name": KEEPER.name, "passphrase": KEEPER.passphrase}).status_code == 429


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


def test_what_is_typed_as_a_name_is_shown_as_text(hall: Hall) -> None:
    path = f"/join/{_invitation(hall)}"
    answer = hall.visitor().post(path, {"name": '"><script>alert(1)</script>', "passphrase": "tiny"})
    assert "<script>alert" not in answer.text
    assert "&lt;script&gt;" in answer.text
