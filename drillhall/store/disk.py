"""Tells when nothing can be written because of the disk, and says so: it is full, may only be read, or fails."""

from __future__ import annotations

import errno
import sqlite3
from typing import Final

from sqlalchemy.exc import DBAPIError

from drillhall.errors import Unavailable
from drillhall.words import say

FULL: Final = say("The hall's disk is full. Nothing was half-written; tell the keeper, and try again when there is room.")
READ_ONLY: Final = say("The hall's disk may only be read. Nothing was half-written; tell the keeper, and try again when it may be written.")
FAILS: Final = say("The hall's disk fails, is full or may only be read. Nothing was half-written; tell the keeper, then try again.")

_BY_ERRNO: Final = {errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EROFS: READ_ONLY, errno.EIO: FAILS}
# Source: "Result and Error Codes" in SQLite's documentation; the low byte is the primary code.
_BY_SQLITE: Final = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_IOERR: FAILS,
    sqlite3.SQLITE_CANTOPEN: FAILS,
}
# Source: "PostgreSQL Error Codes", an appendix of its documentation.
_BY_SQLSTATE: Final = {"53100": FULL, "25006": READ_ONLY, "58030": FAILS}


def find_disk_fault(error: BaseException | None) -> Unavailable | None:
    """Return what to say of an error that the disk is the reason of, or None for any other one."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    words = None
    if isinstance(cause, OSError):
        words = _BY_ERRNO.get(cause.errno or 0)
    elif isinstance(cause, sqlite3.Error):
        words = _BY_SQLITE.get(getattr(cause, "sqlite_errorcode", 0) & 0xFF)
    elif cause is not None:
        words = _BY_SQLSTATE.get(str(getattr(cause, "sqlstate", "")))
    return Unavailable(words) if words else None
