"""A disk that is full, or may only be read, is told as that; whatever else goes wrong is not."""

from __future__ import annotations

import errno
import sqlite3

import psycopg
import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from drillhall.errors import Unavailable
from drillhall.store.disk import FAILS, FULL, READ_ONLY, find_disk_fault
from drillhall.store.models.people import SettingRow
from drillhall.store.session import Store


@pytest.mark.parametrize(
    ("pragma", "words"),
    [
        ("max_page_count = 1", FULL),  # as large as it is, no larger
        ("query_only = ON", READ_ONLY),
    ],
)
def test_a_database_that_cannot_be_written_is_told_and_left(sqlite_store: Store, pragma: str, words: str) -> None:
    def write() -> None:
        with sqlite_store.work() as db:
            db.execute(text(f"PRAGMA {pragma}"))
            db.add(SettingRow(key="colour", value="grey" * 100_000))

    with pytest.raises(Unavailable, match=words):
        write()
    sqlite_store.close()
    with sqlite_store.look() as db:
        assert db.get(SettingRow, "colour") is None


def _of_sqlite(code: int) -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("told by SQLite")
    error.sqlite_errorcode = code
    return error


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), FULL),
        (OSError(errno.EROFS, "Read-only file system"), READ_ONLY),
        (psycopg.errors.DiskFull("could not extend file"), FULL),
        (_of_sqlite(sqlite3.SQLITE_IOERR_SHMSIZE), FAILS),
        (_of_sqlite(sqlite3.SQLITE_CANTOPEN), FAILS),
    ],
)
def test_each_fault_of_the_disk_has_its_words(error: Exception, words: str) -> None:
    assert str(find_disk_fault(error)) == words
    assert str(find_disk_fault(OperationalError("SELECT 1", {}, error))) == words


@pytest.mark.parametrize(
    "error",
    [
        None,
        OSError(errno.EACCES, "Permission denied"),
        _of_sqlite(sqlite3.SQLITE_BUSY),
        psycopg.errors.LockNotAvailable(),
        ValueError("disk"),
    ],
)
def test_what_is_no_fault_of_the_disk_is_not_told_as_one(error: Exception | None) -> None:
    assert find_disk_fault(error) is None
