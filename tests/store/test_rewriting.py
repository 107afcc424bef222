"""Writing a database's files anew: what was in rows that are gone is in no byte of them, and whoever is at work is not made to wait."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import delete, insert, text

from drillhall.errors import Unavailable
from drillhall.store import rewriting
from drillhall.store.models.people import AttemptRow
from drillhall.store.rewriting import Rewritten, write_anew
from drillhall.store.session import Store

NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)
GONE = "the tern that never came to land"
FILE = "SELECT current_setting('data_directory') || '/' || pg_relation_filepath('attempt')"


def come_and_go(store: Store) -> None:
    """Write a hundred rows, keep samples of them, and delete most."""
    with store.work() as db:
        db.execute(insert(AttemptRow), [{"subject": f"{GONE} {n % 2} {n:03}", "window_start": NOON, "count": n} for n in range(100)])
    with store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        if not store.is_sqlite:
            connection.execute(text("ANALYZE attempt"))
    with store.work() as db:
        db.execute(delete(AttemptRow))


def written(store: Store) -> bytes:
    """Return the bytes of the file of a table, and what samples there are of its columns."""
    if store.is_sqlite:
        store.fold_log()
        return Path(store.url.removeprefix("sqlite:///")).read_bytes()
    with store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("CHECKPOINT"))
        sampled = connection.execute(text("SELECT most_common_vals, histogram_bounds FROM pg_stats WHERE tablename = 'attempt'")).all()
        return Path(connection.execute(text(FILE)).scalar_one()).read_bytes() + repr(sampled).encode()


def test_nothing_of_rows_that_are_gone_is_left(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drillhall.store.session.PRAGMAS", ("journal_mode=WAL", "synchronous=OFF", "secure_delete=OFF"))
    store.engine.dispose()
    come_and_go(store)
    assert GONE.encode() in written(store)
    assert write_anew(store) == Rewritten(True)
    assert GONE.encode() not in written(store)
    store.engine.dispose()


def test_what_is_large_is_not_locked_for_long(store: Store) -> None:
    come_and_go(store)
    how_it_lies = "PRAGMA freelist_count" if store.is_sqlite else "SELECT pg_relation_filenode('attempt')"
    with store.look() as db:
        before = db.scalar(text(how_it_lies))
    came = write_anew(store, most=0)
    assert came.is_done
    assert came.spared == ("hall.sqlite",) if store.is_sqlite else {"account", "attempt", '"group"'} <= set(came.spared)
    with store.look() as db:
        assert db.scalar(text(how_it_lies)) == before


def test_a_table_in_use_is_left_for_the_next_time(postgresql_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rewriting, "LOCK_MS", 30)
    lies = text("SELECT pg_relation_filenode('attempt'), pg_relation_filenode('account')")
    with postgresql_store.look() as db:
        held, free = db.execute(lies).one()
        db.execute(text("LOCK attempt IN ACCESS SHARE MODE"))
        assert not write_anew(postgresql_store).is_done
    with postgresql_store.look() as db:
        now_held, now_free = db.execute(lies).one()
        assert now_held == held
        assert now_free != free
        assert db.scalar(text("SHOW lock_timeout")) == "0"


def test_whoever_reads_on_keeps_the_log_of_sqlite_for_the_next_time(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drillhall.store.session.PRAGMAS", ("journal_mode=WAL", "busy_timeout=30"))
    with sqlite_store.look() as db:
        assert db.scalar(text("SELECT count(*) FROM attempt")) == 0
        come_and_go(sqlite_store)
        assert not write_anew(sqlite_store).is_done
    assert write_anew(sqlite_store).is_done


def test_a_file_in_use_is_left_for_the_next_time(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drillhall.store.session.PRAGMAS", ("busy_timeout=30",))
    holder = sqlite3.connect(sqlite_store.url.removeprefix("sqlite:///"), isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        with pytest.raises(Unavailable, match="busy"):
            write_anew(sqlite_store)
    finally:
        holder.close()
