"""The logs after a busy session: one JSON object a line, each with its request's id, and nothing of anybody in them."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillhall.acts.erase_person import erase_person
from drillhall.errors import NotFound
from drillhall.people import accounts, hall, invitations, marks
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from drillhall.web.faults import LOG, REFUSALS, REQUESTS, LogFile, write_faults_to, write_refusals_to, write_requests_to
from tests.cast import EVERYBODY, KEEPER, LEARNER
from tests.visits import MORNING, Hall, open_hall, signs_in

ADDRESS = "oda.querfurth@club.example"
FROM = "192.0.2.77"
SEEN = "a browser of hers/7.7"


@pytest.fixture
def logs(tmp_path: Path) -> Iterator[Path]:
    write_faults_to(tmp_path / "faults.log")
    write_requests_to(tmp_path / "requests.log")
    write_refusals_to(tmp_path / "refusals.log")
    yield tmp_path
    for log in (LOG, REQUESTS, REFUSALS):
        for handler in list(log.handlers):
            handler.close()
            log.removeHandler(handler)
    for log in (REQUESTS, REFUSALS):
        log.propagate = True
        log.setLevel(logging.NOTSET)


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
    written = {name: (logs / name).read_text(encoding="utf-8") for name in ("faults.log", "requests.log", "refusals.log")}
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


def refused(logs: Path) -> list[tuple[str, str, str]]:
    """Return each refusal as event, page and mark."""
    return [(one["event"], one["page"], one["who"]) for one in map(json.loads, (logs / "refusals.log").read_text().splitlines())]


def test_what_is_refused_is_a_line_with_a_mark_that_leads_to_her_until_she_is_erased(sqlite_store: Store, logs: Path) -> None:
    hall = open_hall(sqlite_store, logs, public_url="")
    keeper, learner = hall.enter(KEEPER, is_keeper=True), hall.enter(LEARNER)
    assert hall.visitor().get("/groups").status_code == 303, "who is asked to sign in was refused nothing"
    assert [one.get("/hall").status_code for one in (keeper, learner, learner)] == [200, 404, 404]
    assert learner.post("/groups/nobody-s/leave").status_code == 404
    assert keeper.get("/groups/nobody-s").status_code == 404
    (one, page, hers), two, three, other = refused(logs)
    assert other[2] not in {"", hers}
    assert (one, page) == ("access refused", "keeper.state")
    assert two == (one, page, hers)
    assert three == (one, "groups.leave", hers), "one mark for one person"
    with sqlite_store.look() as db:
        assert marks.the_marked(db, hers) == LEARNER.name
        who = accounts.the_person_called(db, LEARNER.name)
    erase_person(sqlite_store, FolderStorage(logs), who.id, leave_licensed=False, by=None, at=hall.clock())
    with sqlite_store.look() as db:
        assert marks.mark_of(db, who.id) == ""
        with pytest.raises(NotFound, match="nobody's"):
            marks.the_marked(db, hers)


def test_another_passphrase_gives_another_mark(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall.make_secret_key(db)
        who = accounts.make_account(db, name=LEARNER.name, passphrase=LEARNER.passphrase, at=MORNING)
        before = marks.mark_of(db, who.id)
        accounts.reset_passphrase(db, name=LEARNER.name, passphrase=KEEPER.passphrase, at=MORNING, by=None)
        assert marks.mark_of(db, who.id) != before
        with pytest.raises(NotFound):
            marks.the_marked(db, before)


def test_hosts_tokens_limits_and_sizes_that_are_refused_are_lines_too(sqlite_store: Store, logs: Path) -> None:
    hall = open_hall(sqlite_store, logs, public_url="")
    learner = hall.enter(LEARNER)
    hall.visitor().client.get("/csrf", base_url="http://oda.example")
    learner.client.post("/sign-out", data={}, base_url=hall.base)
    for _ in range(11):
        signs_in(hall.visitor(), LEARNER.name, "a wrong passphrase")
    hall.app.config["MAX_CONTENT_LENGTH"] = 100
    learner.post("/my-pictures", {"alt": "x" * 200})
    told = refused(logs)
    events = [("host refused", "account.csrf"), ("form token refused", "account.sign_out"), ("too many tries", "account.sign_in")]
    assert [one[:2] for one in told[:3]] == events
    assert told[3][0] == "too large"
    assert [bool(who) for _, _, who in told[:3]] == [False, True, False]
    assert "oda" not in (logs / "refusals.log").read_text()


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


def test_two_processes_go_on_in_the_file_that_either_has_begun(tmp_path: Path) -> None:
    path, number = tmp_path / "requests.log", 0
    logs = [LogFile(path, maxBytes=200, backupCount=2, encoding="utf-8", delay=True) for _ in range(2)]
    for number in range(60):  # the first one writes most, and begins most files
        logs[number % 5 == 4].emit(logging.LogRecord("x", logging.INFO, "", 0, f"line {number:06}", (), None))
        assert path.read_text(encoding="utf-8").endswith(f"line {number:06}\n")
    last = "".join((tmp_path / name).read_text(encoding="utf-8") for name in ("requests.log.2", "requests.log.1", "requests.log"))
    assert last.split("\n")[:-1] == [f"line {n:06}" for n in range(number - last.count("\n") + 1, number + 1)]
    path.rename(tmp_path / "taken away")  # as a keeper's own rotation does
    logs[0].emit(logging.LogRecord("x", logging.INFO, "", 0, "line after", (), None))
    assert path.read_text(encoding="utf-8") == "line after\n"
    for log in logs:
        log.close()


def test_a_log_whose_folder_was_away_goes_on_when_it_is_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "hall"
    log = LogFile(folder / "requests.log", maxBytes=200, backupCount=2, encoding="utf-8", delay=True)
    for come in (folder.mkdir, lambda: folder.rename(tmp_path / "away"), folder.mkdir):
        come()
        log.emit(logging.LogRecord("x", logging.INFO, "", 0, "a line", (), None))
    log.close()
    assert (folder / "requests.log").read_text(encoding="utf-8") == "a line\n"
    assert "lines are missing" in capsys.readouterr().err


def test_a_log_that_cannot_be_written_is_told_of_once_and_stops_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = LogFile(tmp_path / "gone" / "faults.log", delay=True)
    for number in range(3):
        log.emit(logging.LogRecord("drillhall", logging.WARNING, "", 0, f"line {number}", None, None))
    assert capsys.readouterr().err == f"{tmp_path}/gone/faults.log cannot be written; lines are missing in it.\n"
