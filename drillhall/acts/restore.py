"""Puts a backup back into an empty hall, on either engine: whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from sqlalchemy.engine import Connection

from drillhall.errors import Conflict, Invalid
from drillhall.pictures.storage import Storage
from drillhall.store import dumping
from drillhall.store.archive import DAMAGED, Archive
from drillhall.store.migrating import bring_up_to_date, is_known, make_schema, schema_of
from drillhall.store.session import Store
from drillhall.words import say

THE_HALLS_OWN: Final = ("account", "catalogue", "picture")
"""A hall in which none of these has a row is empty; what its first start wrote is replaced."""
NOT_EMPTY: Final = say("This hall is not empty: somebody has an account in it. Name an empty data folder and an empty database.")


def restore(store: Store, storage: Storage, archive: Archive, *, progress: Callable[[int, int, str], None]) -> tuple[str, ...]:
    """Restore a backup, bring it up to date, and return the migrations that were run on it, oldest first.

    All of the file is read and checked before a row is written. Raises Invalid for a file that is damaged or that a newer program
    wrote, Conflict where the hall is not empty; it is then as it was.
    """
    if not is_known(archive.head.schema):
        raise Invalid(say("This backup was written by a newer Drillhall. Restore it with that one, or a newer one still."), field="file")
    _check_empty(store)
    archive.check(progress=progress)
    make_schema(store, archive.head.schema)
    before = set(storage.keys())
    keys = archive.keys
    try:
        for number, key in enumerate(keys, 1):
            storage.put(key, archive.picture(key))
            progress(number, len(keys), key)
        with store.work() as db:
            _load(db.connection(), archive, progress)
    except ValueError as error:  # a key that no hall makes
        _take_back(storage, keys, before)
        raise Invalid(DAMAGED.format(what="it holds a file under a name that no hall gives"), field="file") from error
    except BaseException:
        _take_back(storage, keys, before)
        raise
    return bring_up_to_date(store)


def _load(connection: Connection, archive: Archive, progress: Callable[[int, int, str], None]) -> None:
    tables = dumping.read_tables(connection)
    if {table.name for table in tables} != set(archive.head.rows):
        raise Invalid(DAMAGED.format(what="its tables are not those of its version"), field="file")
    if _is_anybodys(connection):  # somebody came in since
        raise Conflict(NOT_EMPTY)
    for table in reversed(tables):
        connection.execute(table.delete())
    for number, table in enumerate(tables, 1):
        with archive.lines(table.name) as lines:
            count = dumping.load(connection, table, lines)
        if count != archive.head.rows[table.name]:
            raise Invalid(DAMAGED.format(what=f"{table.name} does not have as many rows as it should"), field="file")
        progress(number, len(tables), table.name)


def _check_empty(store: Store) -> None:
    if schema_of(store) is None:
        return
    with store.snapshot() as connection:
        if _is_anybodys(connection):
            raise Conflict(NOT_EMPTY)


def _is_anybodys(connection: Connection) -> bool:
    tables = [table for table in dumping.read_tables(connection) if table.name in THE_HALLS_OWN]
    return any(count for _, count in dumping.count_rows(connection, tables))


def _take_back(storage: Storage, keys: tuple[str, ...], before: set[str]) -> None:
    for key in keys:
        try:
            if key not in before:
                storage.delete(key)
        except ValueError:  # a key that no hall makes was never put
            continue
