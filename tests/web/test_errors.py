"""What a visitor reads when something is wrong, and what is written down of it."""

from __future__ import annotations

import errno
import logging
from pathlib import Path

import pytest

from drillhall import errors
from drillhall.web.errors import SAFE, STATUS, status_of
from drillhall.web.faults import list_faults, write_faults_to
from tests.cast import KEEPER, LEARNER
from tests.visits import Hall


def _raise(hall: Hall, error: BaseException) -> None:
    def broken() -> str:
        raise error

    hall.app.view_functions["account.csrf"] = broken


EVERY = [
    (errors.NotFound("No such pair here."), 404),
    (errors.NotAllowed("That is hers to do."), 403),
    (errors.Invalid("Minutes must be a number.", field="minutes"), 422),
    (errors.BadAnswer("That answer cannot be.", field="said"), 422),
    (errors.BadPicture("That is no picture.", field="file"), 422),
    (errors.BadRights("Say whose it is.", field="owner"), 422),
    (errors.BadImport("Three faults.", faults=("a", "b", "c")), 422),
    (errors.BadRoster("Two faults.", faults=("a", "b")), 422),
    (errors.Conflict("It is decided already."), 409),
    (errors.Overtaken("Somebody else changed the same thing."), 409),
    (errors.NameTaken("That name is taken."), 409),
    (errors.AlreadyDone("It has ended already."), 409),
    (errors.TooMany("Too many tries.", wait_seconds=90), 429),
    (errors.Unavailable("The database is busy."), 503),
]


@pytest.mark.parametrize(("error", "status"), EVERY, ids=lambda value: type(value).__name__)
def test_each_error_has_its_status_its_sentence_and_a_way_on(hall: Hall, error: errors.DrillhallError, status: int) -> None:
    _raise(hall, error)
    answer = hall.visitor().get("/csrf")
    assert answer.status_code == status
    assert error.sentence in answer.text
    assert str(SAFE[status]) in answer.text
    assert answer.text.count('class="act"') == 1, "the one next step"
    assert f'class="act" href="{"/csrf" if status in {429, 503} else "/sign-in"}"' in answer.text


@pytest.mark.parametrize(
    ("error", "heading"),
    [
        (errors.Conflict("It is decided already."), "That does not go"),
        (errors.NameTaken("That name is taken."), "That does not go"),
        (errors.Overtaken("Somebody else changed the same thing."), "Somebody was quicker"),
    ],
)
def test_only_what_was_overtaken_is_said_to_be(hall: Hall, error: errors.Conflict, heading: str) -> None:
    _raise(hall, error)
    assert f"<h1>{heading}</h1>" in hall.visitor().get("/csrf").text


@pytest.mark.parametrize(("error", "status"), EVERY, ids=lambda value: type(value).__name__)
def test_a_script_gets_the_same_as_an_object(hall: Hall, error: errors.DrillhallError, status: int) -> None:
    _raise(hall, error)
    answer = hall.visitor().get("/csrf", headers={"Accept": "application/json"})
    assert answer.status_code == status
    assert answer.get_json() == {"sentence": error.sentence, "field": getattr(error, "field", "")}


def test_every_error_of_ours_is_in_the_table() -> None:
    def kinds(kind: type) -> list[type]:
        return [kind, *(below for child in kind.__subclasses__() for below in kinds(child))]

    named = {type(error) for error, _ in EVERY}
    # `Invalid` and `Conflict` stand for kinds that the doors may add below them.
    assert {kind for kind in kinds(errors.DrillhallError) if kind.__module__ == errors.__name__} == named | {errors.DrillhallError}
    assert status_of(errors.DrillhallError("x")) == 500
    assert STATUS[-1][0] is errors.DrillhallError


@pytest.mark.parametrize(("error", "wait"), [(errors.TooMany("Later.", wait_seconds=90), "90"), (errors.Unavailable("Busy."), "5")])
def test_whoever_should_come_back_is_told_when(hall: Hall, error: errors.DrillhallError, wait: str) -> None:
    _raise(hall, error)
    assert hall.visitor().get("/csrf").headers["Retry-After"] == wait


def test_a_fault_of_the_program_shows_a_mark_and_nothing_of_itself(hall: Hall, tmp_path: Path) -> None:
    log = tmp_path / "faults.log"
    write_faults_to(log)
    secret = "seven wet boots by the sluice"
    _raise(hall, ValueError(f"could not read {secret}\n2031-03-03T09:00:00+0000 ERROR made up"))
    answer = hall.visitor().get("/csrf", query_string={"token": "kept-secret"})
    _close_logs()
    assert answer.status_code == 500
    assert "ValueError" not in answer.text
    assert secret not in answer.text
    written = log.read_text()
    assert secret not in written
    assert "kept-secret" not in written
    assert "made up" not in written
    (fault,) = list_faults(log)
    mark = fault.what.split()[1]
    assert fault.what == f"fault {mark} at account.csrf: ValueError"
    assert f">{mark}<" in answer.text
    assert "test_errors.py" in written  # the way to the fault is there


def test_a_full_disk_is_no_fault_of_the_program(hall: Hall) -> None:
    _raise(hall, OSError(errno.ENOSPC, "No space left on device", "/somewhere/secret"))
    answer = hall.visitor().get("/csrf")
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert "disk is full" in answer.text
    assert "secret" not in answer.text


def _close_logs() -> None:
    logger = logging.getLogger("drillhall")
    for handler in list(logger.handlers):
        handler.close()
        logger.removeHandler(handler)


@pytest.mark.parametrize(("path", "status"), [("/nowhere", 404), ("/devices/x/end", 404), ("/static/nothing.css", 404)])
def test_what_is_not_there_is_told_in_our_words(hall: Hall, path: str, status: int) -> None:
    answer = hall.visitor().get(path)
    assert answer.status_code == status
    assert "never here, or it is not yours to see" in answer.text


def test_a_way_that_a_page_does_not_take_is_told_with_those_it_takes(hall: Hall) -> None:
    answer = hall.visitor().get("/sign-out")
    assert answer.status_code == 405
    assert "POST" in answer.headers["Allow"]
    assert "use the button" in answer.text


def test_what_is_too_large_is_refused_before_it_is_read(hall: Hall) -> None:
    hall.app.config["MAX_CONTENT_LENGTH"] = 1000
    answer = hall.visitor().post("/sign-in", {"name": "a" * 2000})
    assert answer.status_code == 413
    assert "nothing of this was kept. Go back and send fewer pictures at a time" in answer.text


def test_a_database_that_is_away_is_told_even_on_the_page_that_tells_it(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    visitor = hall.enter(LEARNER)

    def away() -> None:
        raise errors.Unavailable("The database is busy or away.")

    monkeypatch.setattr(hall.store, "look", away)
    answer = visitor.get("/settings")
    assert answer.status_code == 503
    assert "busy or away" in answer.text


def test_a_database_that_fails_oddly_leaves_a_page_to_read(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    visitor = hall.enter(LEARNER)

    def odd() -> None:
        raise RuntimeError("the driver is lost")

    monkeypatch.setattr(hall.store, "look", odd)
    answer = visitor.get("/settings?tab=2")
    assert answer.status_code == 500
    assert "What was saved is safe" in answer.text
    assert 'class="act" href="/settings?tab=2"' in answer.text


def test_what_is_not_there_is_said_although_the_database_is_away(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    visitor = hall.enter(LEARNER)

    def away() -> None:
        raise errors.Unavailable("The database is busy or away.")

    monkeypatch.setattr(hall.store, "look", away)
    assert visitor.get("/nowhere").status_code == 404


@pytest.mark.parametrize(
    ("came_from", "onward"),
    [
        ("http://localhost/join/x?a=1#b", "/join/x?a=1"),
        ("http://elsewhere.example/join/x", "/sign-in"),
        ("http://localhost//elsewhere.example", "/sign-in"),
        ("http://[", "/sign-in"),
        ("", "/sign-in"),
    ],
)
def test_whoever_sent_a_form_is_led_back_to_it_and_nowhere_else(hall: Hall, came_from: str, onward: str) -> None:
    answer = hall.visitor().get("/sign-out", headers={"Referer": came_from})
    assert answer.status_code == 405
    assert f'class="act" href="{onward}"' in answer.text


def test_how_long_a_busy_hall_wants_is_said_in_words_and_in_german(hall: Hall) -> None:
    _raise(hall, errors.Unavailable("Busy."))
    assert "Give it 5 seconds first." in hall.visitor().get("/csrf").text
    german = hall.visitor().get("/csrf", headers={"Accept-Language": "de"}).text
    assert "Gib ihr vorher 5 Sekunden." in german
    assert "Noch einmal versuchen" in german


def test_the_keeper_sees_the_last_faults(hall: Hall, tmp_path: Path) -> None:
    keeper = hall.enter(KEEPER, is_keeper=True)
    assert "None." in keeper.get("/hall").text
    write_faults_to(tmp_path / "faults.log")
    hall.app.view_functions["account.devices"] = lambda: 1 / 0
    keeper.get("/devices")
    _close_logs()
    assert "at account.devices: ZeroDivisionError" in keeper.get("/hall").text


def test_a_log_that_is_not_there_or_holds_other_things_is_no_fault(tmp_path: Path) -> None:
    assert list_faults(tmp_path / "none.log") == ()
    (tmp_path / "odd.log").write_bytes(
        b'\xff\xfe odd\n{"at": "2031-03-03T09:00:00Z", "event": "fault 1"}\nTraceback\n[1]\n7\n'
        b'{"at": "2031-03-03T09:01:00Z", "event": "two"}\n'
    )
    assert [fault.what for fault in list_faults(tmp_path / "odd.log")] == ["two", "fault 1"]
