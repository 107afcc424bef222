"""The one way to keep: committed once on leaving, rolled back on any error, safe against a second writer."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import suppress
from datetime import UTC, datetime

import psycopg
import pytest
from sqlalchemy import select, text
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Overtaken, Unavailable
from drillhall.store import session
from drillhall.store.models.people import AccountRow, AttemptRow, SettingRow
from drillhall.store.session import Store
from tests import engines

NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)


def setting(store: Store, key: str) -> object:
    with store.look() as db:
        return db.scalar(select(SettingRow.value).where(SettingRow.key == key))


def test_leaving_work_commits(store: Store) -> None:
    with store.work() as db:
        db.add(SettingRow(key="colour", value="grey"))
    assert setting(store, "colour") == "grey"


def test_an_error_in_work_leaves_nothing_behind(store: Store) -> None:
    def breaks(db: Session) -> None:
        db.add(SettingRow(key="colour", value="grey"))
        db.flush()
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError), store.work() as db:
        breaks(db)
    assert setting(store, "colour") is None


def test_work_that_fails_takes_back_what_lies_outside(store: Store) -> None:
    undone: list[str] = []

    def breaks(db: Session) -> None:
        session.if_not_kept(db, lambda: undone.append("files"))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError), store.work() as db:
        breaks(db)
    assert undone == ["files"]


def test_a_commit_of_which_nothing_is_known_leaves_what_may_belong_to_it(postgresql_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    undone: list[str] = []
    commit = postgresql_store.engine.dialect.do_commit

    def commits_and_goes(connection: DBAPIConnection) -> None:
        commit(connection)
        raise psycopg.OperationalError("server closed the connection unexpectedly")

    def keeps(db: Session) -> None:
        session.if_not_kept(db, lambda: undone.append("files"))
        db.add(SettingRow(key="colour", value="grey"))
        monkeypatch.setattr(postgresql_store.engine.dialect, "do_commit", commits_and_goes)

    with pytest.raises(Unavailable), postgresql_store.work() as db:
        keeps(db)
    monkeypatch.undo()
    assert setting(postgresql_store, "colour") == "grey"
    assert undone == []


def test_what_is_changed_while_looking_is_not_kept(store: Store) -> None:
    with suppress(Unavailable), store.look() as db:  # PostgreSQL refuses: the transaction only reads
        db.add(SettingRow(key="colour", value="grey"))
        db.flush()
    with store.look() as db:
        db.add(SettingRow(key="colour", value="green"))
    assert setting(store, "colour") is None
    with store.work() as db:  # on the very connection that has looked
        db.add(SettingRow(key="colour", value="blue"))
    assert setting(store, "colour") == "blue"


def test_postgresql_keeps_what_it_has_prepared_from_one_look_to_the_next(postgresql_store: Store) -> None:
    asked, alone = text("SELECT value FROM setting WHERE key = :key"), Store(postgresql_store.url)  # with one connection, not some by turns
    for _ in range(8):  # the driver has a statement prepared once it has been sent five times
        with alone.look() as db:
            db.execute(asked, {"key": "colour"}).all()
    with alone.look() as db:
        prepared = db.scalars(text("SELECT statement FROM pg_prepared_statements")).all()
    alone.close()
    assert any("FROM setting" in one for one in prepared)


def test_what_was_read_may_be_used_after_the_look_is_over(store: Store) -> None:
    with store.work() as db:
        db.add(SettingRow(key="colour", value="grey"))
    with store.look() as db:
        row = db.get_one(SettingRow, "colour")
    assert row.value == "grey"


def test_a_constraint_of_the_database_refuses_as_a_conflict(store: Store) -> None:
    def add(db: Session) -> None:
        db.add(AccountRow(name="Ottilie", name_folded="ottilie", passphrase_hash="x", created_at=NOON))

    with store.work() as db:
        add(db)
    with pytest.raises(Overtaken, match="Nothing was half-written"), store.work() as db:
        add(db)


def test_a_foreign_key_is_kept_on_either_engine(store: Store) -> None:
    with pytest.raises(Conflict), store.work() as db:
        db.execute(text("INSERT INTO steward (catalogue_id, account_id) VALUES (77, 77)"))


def test_a_check_of_the_database_refuses_even_what_python_let_through(store: Store) -> None:
    with pytest.raises(Conflict), store.work() as db:
        db.add(AccountRow(name="O", name_folded="o", passphrase_hash="x", target_recall=0.5, created_at=NOON))


def test_times_come_back_aware_and_in_utc(store: Store) -> None:
    with store.work() as db:
        db.add(AttemptRow(subject="x", window_start=NOON, count=1))
    with store.look() as db:
        back = db.scalars(select(AttemptRow.window_start)).one()
    assert back == NOON
    assert back.tzinfo is UTC


def test_a_time_without_a_zone_is_not_stored(store: Store) -> None:
    with pytest.raises(Exception, match="must say its zone"), store.work() as db:
        db.add(AttemptRow(subject="x", window_start=datetime(2031, 3, 3), count=1))  # noqa: DTZ001 - that is the fault


def test_sqlite_writes_ahead_syncs_every_commit_and_keeps_foreign_keys(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session, "PRAGMAS", engines.IN_EARNEST)
    with sqlite_store.look() as db:
        found = {name: db.scalar(text(f"PRAGMA {name}")) for name in ("journal_mode", "synchronous", "foreign_keys")}
    assert found == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}  # 2 is FULL: https://www.sqlite.org/pragma.html


def test_many_writers_at_once_lose_nothing(store: Store) -> None:
    """Read, then write, from several threads: with a deferred BEGIN, SQLite would refuse most of them."""
    with store.work() as db:
        db.add(AttemptRow(subject="door", window_start=NOON, count=0))

    def knock() -> None:
        for _ in range(20):
            with store.work() as db:
                row = db.scalars(select(AttemptRow).with_for_update()).one()
                row.count += 1

    threads = [threading.Thread(target=knock) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with store.look() as db:
        assert db.scalars(select(AttemptRow.count)).one() == 80


def test_readers_do_not_wait_for_a_writer(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        db.add(SettingRow(key="colour", value="grey"))
        db.flush()
        assert setting(sqlite_store, "colour") is None  # read while the writer holds the lock
    assert setting(sqlite_store, "colour") == "grey"


def test_a_database_that_is_locked_for_too_long_is_unavailable(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    path = sqlite_store.url.removeprefix("sqlite:///")
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    monkeypatch.setattr(session, "PRAGMAS", ("busy_timeout=50",))
    impatient = Store(sqlite_store.url)
    try:
        with pytest.raises(Unavailable, match="try again in a moment"), impatient.work() as db:
            db.execute(select(SettingRow))
    finally:
        holder.close()
        impatient.close()


def test_a_database_that_is_away_is_unavailable() -> None:
    store = Store("postgresql+psycopg://nobody@/nowhere?host=/nonexistent-socket-folder")
    with pytest.raises(Unavailable), store.look() as db:
        db.execute(text("SELECT 1"))
    store.close()
