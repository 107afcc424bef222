"""The ground the tests stand on: two real engines, a real browser, and walls that hold."""

from __future__ import annotations

import smtplib
import socket
from contextlib import suppress
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser
from sqlalchemy import func, select, text

from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests import cast
from tests.outside import Refused, is_here, nothing_leaves


def _add(store: Store, name: str) -> None:
    with store.work() as db:
        db.add(AccountRow(name=name, name_folded=name.casefold(), passphrase_hash="-", created_at=datetime(2026, 3, 1, tzinfo=UTC)))


@pytest.mark.parametrize("turn", ["first", "second"])
def test_each_test_finds_an_empty_hall(store: Store, turn: str) -> None:
    with store.look() as db:
        assert db.scalar(select(func.count()).select_from(AccountRow)) == 0, turn
    _add(store, cast.LEARNER.name)
    with store.look() as db:
        assert db.scalar(select(AccountRow.id)) == 1, "dice are seeded with ids: a test that hangs on those before it fails now and then"


def test_postgresql_is_a_recent_one(pg_dsn: str, postgresql_store: Store) -> None:
    with postgresql_store.look() as db:
        version = int(str(db.scalar(text("SHOW server_version_num"))))
    assert version >= 160000, pg_dsn


def test_sqlite_keeps_foreign_keys_and_waits_for_no_disk_here(sqlite_store: Store) -> None:
    with sqlite_store.look() as db:
        pragmas = {name: db.scalar(text(f"PRAGMA {name}")) for name in ("journal_mode", "synchronous", "foreign_keys")}
    # synchronous=0 is OFF: https://www.sqlite.org/pragma.html#pragma_synchronous; that the program has FULL is seen in tests/store
    assert pragmas == {"journal_mode": "wal", "synchronous": 0, "foreign_keys": 1}


def test_the_browser_runs_scripts(browser: Browser) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.set_content("<p id=a>one</p>")
    assert page.evaluate("document.getElementById('a').textContent + navigator.userAgent").startswith("oneMozilla")
    context.close()


@pytest.mark.parametrize("host", ["192.0.2.7", "2001:db8::1", "hall.example", b"hall.example"])
def test_beyond_loopback_is_not_here(host: str | bytes) -> None:
    assert not is_here(host)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost", "", None])
def test_loopback_is_here(host: str | None) -> None:
    assert is_here(host)


def test_a_connection_outwards_fails_the_test_even_when_swallowed() -> None:
    with (
        pytest.raises(pytest.fail.Exception, match=r"connection to 192\.0\.2\.7"),
        nothing_leaves(),
        suppress(OSError),
        socket.socket() as plug,
    ):
        plug.connect(("192.0.2.7", 80))


def test_looking_up_a_name_outwards_fails_the_test() -> None:
    with pytest.raises(pytest.fail.Exception, match=r"look-up of hall\.example"), nothing_leaves(), pytest.raises(Refused):
        socket.getaddrinfo("hall.example", 443)


def test_mail_fails_the_test_even_on_this_machine() -> None:
    with pytest.raises(pytest.fail.Exception, match="mail by localhost"), nothing_leaves(), pytest.raises(Refused):
        smtplib.SMTP("localhost", 2525)


def test_this_machine_may_talk_to_itself() -> None:
    with nothing_leaves(), socket.create_server(("127.0.0.1", 0)) as server:
        socket.create_connection(server.getsockname(), timeout=1).close()


def test_everybody_has_a_name_and_a_passphrase_of_her_own() -> None:
    assert len({someone.name for someone in cast.EVERYBODY}) == len({someone.passphrase for someone in cast.EVERYBODY}) == 5
    assert all(len(someone.passphrase) >= 15 for someone in cast.EVERYBODY)
