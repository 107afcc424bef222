"""`drillhall work`: what it sends, what it says without a mail server, and that one bad round is not the last."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from threading import Event

import pytest
from click.testing import CliRunner, Result

from drillhall.acts import run_jobs
from drillhall.acts.run_jobs import Job, Workshop, run_round
from drillhall.cli import main
from drillhall.cli.work import run_until, the_workshop
from drillhall.config import read_settings
from drillhall.people import hall
from drillhall.pictures.storage import FolderStorage
from drillhall.post import jobs, outbox
from drillhall.post.mail import Block
from drillhall.post.outbox import Envelope
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from tests.post.postbox import HALL, taking

AT = datetime(2021, 3, 3, 9, tzinfo=UTC)
FROM = {"DRILLHALL_PUBLIC_URL": HALL, "DRILLHALL_MAIL_FROM": "The hall <hall@hall.example>"}


def waiting_letter(folder: Path) -> Store:
    """Make a hall in which a letter waits."""
    folder.mkdir()
    store = Store(read_settings({}, data=folder).database_url)
    bring_up_to_date(store)
    with store.work() as db:
        hall.make_secret_key(db)
        outbox.put(db, Envelope("one", "reminder", "oda@club.example"), "Birds", [Block("Look up.")], public_url=HALL, at=AT)
    return store


def once(folder: Path, **env: str) -> Result:
    return CliRunner().invoke(main, ["work", "--once", "--data", str(folder)], env=dict.fromkeys(("DRILLHALL_SMTP", *FROM)) | env)


def test_once_sends_what_waits_and_a_second_time_nothing(tmp_path: Path) -> None:
    waiting_letter(tmp_path / "hall").close()
    with taking() as (box, server):
        env = FROM | {"DRILLHALL_SMTP": f"smtp://127.0.0.1:{server.port}"}
        for _ in range(2):
            assert once(tmp_path / "hall", **env).exit_code == 0
    assert box.to == [["oda@club.example"]]
    assert box.letters[0]["From"] == "The hall <hall@hall.example>"


@pytest.mark.parametrize(
    ("env", "why"),
    [
        ({}, "has named no mail server"),
        ({"DRILLHALL_SMTP": "smtp://127.0.0.1:9", "DRILLHALL_MAIL_FROM": "h@h.example"}, "by which address"),
    ],
)
def test_without_settings_all_else_works_and_it_says_why_mail_does_not(tmp_path: Path, env: dict[str, str], why: str) -> None:
    store = waiting_letter(tmp_path / "hall")
    told = once(tmp_path / "hall", **env)
    assert told.exit_code == 0
    assert why in told.stderr
    with store.look() as db:
        assert {job.name for job in jobs.list_jobs(db)} == {job.name for job in run_jobs.JOBS}
        assert outbox.the_state(db).waiting == 1
    store.close()


def test_a_server_that_refuses_our_mail_is_told_by_its_number_alone(tmp_path: Path) -> None:
    store = waiting_letter(tmp_path / "hall")
    with taking() as (box, server):
        box.rcpt_replies.append("550 no such box as oda@club.example")
        assert once(tmp_path / "hall", **FROM, DRILLHALL_SMTP=f"smtp://127.0.0.1:{server.port}").exit_code == 0
    with store.look() as db:
        assert outbox.the_state(db).fault == "the mail server refused it (550)"
    store.close()


def test_a_job_that_breaks_is_noted_and_the_others_run_next_round(
    sqlite_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[str] = []

    def breaks(_shop: Workshop) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(
        run_jobs, "JOBS", (Job("breaks", run_jobs.JOBS[0].every, breaks), Job("runs", run_jobs.JOBS[0].every, lambda _: ran.append("ran")))
    )
    shop = Workshop(sqlite_store, FolderStorage(tmp_path), None, lambda: AT)
    with pytest.raises(ZeroDivisionError):
        run_round(shop)
    assert (run_round(shop), run_round(shop), ran) == (1, 0, ["ran"])
    with sqlite_store.look() as db:
        assert [(job.name, job.fault) for job in jobs.list_jobs(db)] == [("breaks", "ZeroDivisionError"), ("runs", "")]


def test_a_worker_knows_where_zips_wait(sqlite_store: Store, tmp_path: Path) -> None:
    settings = read_settings({}, data=tmp_path)
    assert the_workshop(settings, sqlite_store).uploads == settings.uploads_folder


def test_a_worker_outlives_a_bad_round(sqlite_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stop, rounds = Event(), []

    class Twice(Event):
        def wait(self, timeout: float | None = None) -> bool:
            rounds.append(timeout)
            return len(rounds) < 2 or bool(stop.set())

        def is_set(self) -> bool:
            return stop.is_set()

    def breaks(_shop: Workshop) -> int:
        raise ZeroDivisionError

    monkeypatch.setattr("drillhall.cli.work.run_round", breaks)
    run_until(the_workshop(read_settings({}, data=tmp_path), sqlite_store), Twice())
    assert len(rounds) == 2
