"""Takes a backup of a whole hall into one file while people go on using it: its rows as of one instant, and its pictures."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import IO

from sqlalchemy import select
from sqlalchemy.engine import Connection

from drillhall.errors import Conflict, NotFound, Unavailable
from drillhall.people import hall
from drillhall.pictures.storage import Storage
from drillhall.store import dumping
from drillhall.store.archive import ArchiveWriter, Head
from drillhall.store.migrating import is_known, schema_of
from drillhall.store.session import Store
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class BackedUp:
    """What a backup holds: rows, pictures' files, its size in bytes, and the keys whose bytes were not there.

    `is_noted`: whether the hall could write down that it was taken; where its disk is full it cannot.
    """

    rows: int
    files: int
    size: int
    missing: tuple[str, ...]
    is_noted: bool = True


def back_up(
    store: Store, storage: Storage, path: Path, *, at: datetime, program: str, progress: Callable[[int, int, str], None]
) -> BackedUp:
    """Write a backup to a file that is not there yet, for its owner's eyes alone, and note in the hall that it was taken.

    It is written beside and renamed, so that a file of that name is always whole. Raises Conflict where there is one already,
    Unavailable where it cannot be written, a picture's file cannot be read, or the hall is of a newer program.
    """
    schema = schema_of(store)
    if schema is None:
        raise NotFound(say("There is no hall in this database yet, so there is nothing to back up."))
    if not is_known(schema):
        raise Unavailable(say("This hall's database was written by a newer Drillhall. Take the backup with that one."))
    with _beside(path) as file, ArchiveWriter(file) as archive, store.snapshot() as connection:
        head, files = _write(archive, connection, storage, Head(program, schema, at.isoformat(), {}, ()), progress)
    done = BackedUp(sum(head.rows.values()), files, path.stat().st_size, head.missing)
    try:
        with store.work() as db:
            hall.note_backup(db, at=at, size=done.size)
    except Unavailable:  # never is a backup needed more than from a disk that is full
        return replace(done, is_noted=False)
    return done


def _write(
    archive: ArchiveWriter, connection: Connection, storage: Storage, head: Head, progress: Callable[[int, int, str], None]
) -> tuple[Head, int]:
    tables = dumping.read_tables(connection)
    (kept,) = (table for table in tables if table.name == "file")
    keys = list(connection.scalars(select(kept.columns["storage_key"]).order_by(kept.columns["id"])))
    rows, missing, total = {}, [], len(tables) + len(keys)
    for number, table in enumerate(tables, 1):
        with archive.rows(table.name) as out:
            rows[table.name] = dumping.dump(connection, table, out)
        progress(number, total, table.name)
    for number, key in enumerate(keys, len(tables) + 1):
        try:
            archive.picture(key, _bytes_of(storage, key))
        except NotFound:  # lost before, or let go since the rows were read
            missing.append(key)
        progress(number, total, key)
    head = Head(head.program, head.schema, head.taken_at, rows, tuple(missing))
    archive.finish(head)
    return head, len(keys) - len(missing)


def _bytes_of(storage: Storage, key: str) -> bytes:
    try:
        return storage.get(key)
    except OSError as error:
        why = error.strerror or say("the disk failed")
        raise Unavailable(
            say(
                "The file {key} of a picture could not be read ({why}). No backup was kept; mend that, then take it again.",
                key=key,
                why=why,
            )
        ) from error


@contextmanager
def _beside(path: Path) -> Iterator[IO[bytes]]:
    """Lend a file of a name of its own, so that two backups at once do not write into one; it takes its name when it is whole."""
    _refuse_taken(path)
    beside = path.with_name(f"{path.name}.{secrets.token_hex(4)}.unfinished")
    try:
        handle = os.open(beside, os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        with os.fdopen(handle, "wb+") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        _refuse_taken(path)
        os.replace(beside, path)
    except OSError as error:
        why = error.strerror or say("the disk failed")
        raise Unavailable(say("The backup could not be written to {path} ({why}). Nothing of it was kept.", path=path, why=why)) from error
    finally:
        beside.unlink(missing_ok=True)


def _refuse_taken(path: Path) -> None:
    if path.exists():
        raise Conflict(say("There is a file {path} already. Name another one; a backup overwrites nothing.", path=path))
