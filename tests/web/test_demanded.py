"""A second step that the hall demands: every route on what is others' leads to setting one up, and no other does."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select

from drillhall.people import accounts, second_step
from drillhall.people.permissions import is_over_others
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.people import SecondStepRow
from drillhall.web.session import cookie_name
from drillhall.web.who_may import ACTION_OF
from tests import cast
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor
from tests.web.test_who_may import WHO_MAY
from tests.web.walking import methods_of, path_of, rules_of

DUE = "/second-step?demanded=yes"


def _has_one(hall: Hall, someone: cast.Someone) -> None:
    with hall.store.work() as db:
        person = accounts.the_person_called(db, someone.name)
        second_step.make_secret(db, person, at=MADE_AT)
        db.get_one(SecondStepRow, person.id).confirmed_at = MADE_AT


def _inside(hall: Hall) -> Visitor:
    """Return the keeper on a new device, past her second step."""
    visitor = hall.visitor()
    with hall.store.work() as db:
        keeper = accounts.the_person_called(db, cast.KEEPER.name)
        token = accounts.sign_in(db, accounts.Recognised(keeper.id), at=hall.clock(), stay=True)
    with hall.app.app_context():
        visitor.client.set_cookie(cookie_name(), token, domain="localhost")
    return visitor


def test_it_is_demanded_by_whoever_has_one_and_with_days_that_can_be(full_hall: Hall) -> None:
    keeper = full_hall.enter(cast.KEEPER, known=True)
    assert "Set up your own" in keeper.get("/hall").text
    assert keeper.post("/hall/second-step", {"demand": "yes", "days": "14"}).status_code == 409
    _has_one(full_hall, cast.KEEPER)
    for days in ("91", "-1", "soon", ""):
        assert keeper.post("/hall/second-step", {"demand": "yes", "days": days}).status_code == 422
    assert "Left to each" in keeper.get("/hall").text
    assert keeper.post("/hall/second-step", {"demand": "yes", "days": "14"}).location == "/hall"
    assert "<b>Demanded</b>" in keeper.get("/hall").text


def test_past_the_days_of_grace_nothing_of_others_is_reached_without_one(full_hall: Hall) -> None:
    _has_one(full_hall, cast.KEEPER)
    _inside(full_hall).post("/hall/second-step", {"demand": "yes", "days": "14"})
    full_hall.clock.at += timedelta(days=1)
    leader, keeper = full_hall.enter(cast.LEADER, known=True), _inside(full_hall)
    assert "You have none yet" in leader.get("/catalogues/hers").text
    assert "You have none yet" not in leader.get("/settings").text
    full_hall.clock.at += timedelta(days=13)
    leader = full_hall.enter(cast.LEADER, known=True)
    assert leader.client.post("/groups/x/archive", json={}, headers={"X-CSRFToken": leader.token()}).status_code == 403
    assert "demands a second step" in leader.get(DUE).text
    token = leader.token()
    for endpoint in list(full_hall.app.view_functions):
        full_hall.app.view_functions[endpoint] = lambda **_: ("entered", 299)
    met = set()
    for rule in rules_of(full_hall):
        for method in methods_of(rule):
            answer = leader.client.open(path_of(full_hall, rule), method=method, headers={"X-CSRFToken": token})
            if "steward" in WHO_MAY[rule.endpoint]:  # what the one who leads and writes here may
                is_due = is_over_others(ACTION_OF[rule.endpoint])
                assert (answer.status_code, answer.location) == ((303, DUE) if is_due else (299, None)), (method, rule)
                met.add(ACTION_OF[rule.endpoint])
    assert met > {"lead a group", "keep a roster", "write a catalogue", "see weak spots by name", "give a passphrase", "own drill"}
    assert keeper.get("/hall").status_code == 299
    _has_one(full_hall, cast.LEADER)
    assert leader.get("/catalogues/hers").status_code == 299


def test_who_writes_a_catalogue_and_leads_nobody_is_not_asked(full_hall: Hall) -> None:
    _has_one(full_hall, cast.KEEPER)
    keeper = _inside(full_hall)
    assert keeper.post("/hall/second-step", {"demand": "yes", "days": "0"}).status_code == 303
    with full_hall.store.work() as db:
        hers = db.scalars(select(CatalogueRow).where(CatalogueRow.key == "hers")).one()
        db.add(StewardRow(catalogue_id=hers.id, account_id=accounts.the_person_called(db, cast.STRANGER.name).id))
    stranger = full_hall.enter(cast.STRANGER, known=True)
    assert stranger.get("/catalogues/hers").status_code == 200
    leader = full_hall.enter(cast.LEADER, known=True)
    assert leader.get("/catalogues/hers").location == DUE
    keeper.post("/hall/second-step", {"demand": "no"})
    assert leader.get("/catalogues/hers").status_code == 200
