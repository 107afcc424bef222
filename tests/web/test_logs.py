"""The logs after a busy session: one JSON object a line, each with its request's id, and nothing of anybody in them."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillhall.people import accounts, invitations
from drillhall.store.session import Store
from drillhall.web.faults import LOG, REQUESTS, LogFile, write_faults_to, write_requests_to
from tests.cast import EVERYBODY, KEEPER, LEARNER
from tests.visits import Hall, open_hall, signs_in

ADDRESS = "oda.querfurth@club.example"
FROM = "192.0.2.77"
SEEN = "a browser of hers/7.7"


@pytest.fixture
def logs(tmp_path: Path) -> Iterator[Path]:
    write_faults_to(tmp_path / "faults.log")
    write_requests_to(tmp_path / "requests.log")
    yield tmp_path
    for log in (LOG, REQUESTS):
        for handler in list(log.handlers):
            handler.close()
            log.removeHandler(handler)
    REQUESTS.propagate = True
    REQUESTS.setLevel(logging.NOTSET)


def _busy(hall: Hall) -> list[str]:
    """Sign in well and badly, join, ask for what is not there, break a page; return every secret that passed."""
    keeper = hall.enter(KEEPER, is_keeper=True)
    keeper.post("/hall/invitations", {"note": "For Oda", "places": "1", "days": "3"})
    with hall.store.work() as db:
        who = accounts.the_person_called(db, KEEPER.name)
        token = invitations.invite(db, by=who, note="Thursday", places=3, days=2, at=hall.clock())
    visitor = hall.visitor()
    visitor.client.environ_base.update(REMOTE_ADDR=FROM, HTTP_USER_AGENT=SEEN)
    visitor.get(f"/join/{token}")
    visitor.post(f"/join/{token}", {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "old_enough": "yes"})
    for _ in range(12):
        signs_in(hall.visitor(), LEARNER.name, "a wrong passphrase")
    visitor.post("/settings/address", {"address": ADDRESS})
    visitor.get(f"/nowhere/{LEARNER.name}?name={ADDRESS}")
    hall.app.view_functions["account.devices"] = lambda: int(f"{LEARNER.name} {ADDRESS}")
    visitor.get(f"/devices?of={ADDRESS}")
    cookies = [value for who in (visitor, keeper) for value in who.cookies().values()]
    names = [word for one in EVERYBODY for word in (one.name, *one.name.split(), one.passphrase)]
    return [*names, *cookies, token, ADDRESS, FROM, SEEN, "a wrong passphrase", "Thursday", "nowhere"]


def test_a_busy_session_leaves_no_name_address_or_token_in_the_logs(sqlite_store: Store, logs: Path) -> None:
    hall = open_hall(sqlite_store, logs, public_url="")
    secrets = _busy(hall)
    written = {name: (logs / name).read_text(encoding="utf-8") for name in ("faults.log", "requests.log")}
    for text in written.values():
        assert [secret for secret in secrets if secret.lower() in text.lower()] == []
    requests = [json.loads(line) for line in written["requests.log"].splitlines()]
    faults = [json.loads(line) for line in written["faults.log"].splitlines()]
    assert len(requests) > 30
    assert {"account.join", "account.sign_in", "account.devices", ""} <= {one["page"] for one in requests}
    assert all(set(one) == {"at", "level", "event", "request", "page", "method", "status", "ms"} for one in requests)
    assert len({one["request"] for one in requests}) == len(requests), "each has an id of its own"
    (broken,) = [one for one in faults if one["level"] == "error"]
    assert broken["event"].endswith("at account.devices: ValueError")
    assert [one["status"] for one in requests if one["request"] == broken["request"]] == [500]
    assert any(one["event"].startswith("too many tries") for one in faults)


def test_the_visitor_is_told_the_id_that_stands_in_the_log(sqlite_store: Store, logs: Path) -> None:
    hall = open_hall(sqlite_store, logs, public_url="")
    answer = hall.visitor().get("/csrf", headers={"X-Request-Id": "made up by somebody"})
    (line,) = (logs / "requests.log").read_text().splitlines()
    assert json.loads(line)["request"] == answer.headers["X-Request-Id"]
    assert "made up" not in line


def test_a_host_that_is_not_ours_is_logged_without_its_name(sqlite_store: Store, logs: Path) -> None:
    hall = open_hall(sqlite_store, logs, public_url="")
    assert hall.visitor().client.get("/csrf", base_url="http://oda.example").status_code == 400
    (line,) = (logs / "requests.log").read_text().splitlines()
    assert json.loads(line)["status"] == 400
    assert "oda" not in line


def test_a_log_that_cannot_be_written_is_told_of_once_and_stops_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = LogFile(tmp_path / "gone" / "faults.log", delay=True)
    for number in range(3):
        log.emit(logging.LogRecord("drillhall", logging.WARNING, "", 0, f"line {number}", None, None))
    assert capsys.readouterr().err == f"{tmp_path}/gone/faults.log cannot be written; lines are missing in it.\n"
