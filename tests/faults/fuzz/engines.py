"""Puts the same hall onto either engine, again and again."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Final

from sqlalchemy import create_engine, text

from drillhall.acts.back_up import back_up
from drillhall.acts.restore import restore
from drillhall.pictures.storage import FolderStorage
from drillhall.store.archive import Archive
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from tests.faults.fuzz.ground import Ground
from tests.faults.fuzz.stage import Stage

TEMPLATE: Final = "fuzz_ground"


@contextmanager
def a_stage(ground: Ground, folder: Path, server: str) -> Iterator[Stage]:
    """Yield a hall whose files lie in a folder: on PostgreSQL where `server` is an address of one, else on SQLite."""
    stage = _on_postgresql(ground, folder, server) if server else _on_sqlite(ground, folder)
    try:
        yield stage
    finally:
        stage.close()
        shutil.rmtree(folder, ignore_errors=True)


def _on_sqlite(ground: Ground, folder: Path) -> Stage:
    folder.mkdir(exist_ok=True)
    return Stage(ground, folder, f"sqlite:///{folder / 'hall.sqlite'}", partial(_renew_file, ground, folder))


def _renew_file(ground: Ground, folder: Path) -> None:
    for path in folder.glob("hall.sqlite*"):
        path.unlink()
    shutil.copy(ground.folder / "hall.sqlite", folder)


def _on_postgresql(ground: Ground, folder: Path, server: str) -> Stage:
    name = f"fuzz_{os.getpid()}"
    return Stage(ground, folder, _address(server, name), partial(_make_database, server, name, like=TEMPLATE))


def put_on_postgresql(ground: Ground, folder: Path, server: str) -> None:
    """Restore a backup of the hall into a database there, of which others are made."""
    _make_database(server, TEMPLATE)
    here, there = Store(f"sqlite:///{ground.folder / 'hall.sqlite'}"), Store(_address(server, TEMPLATE))
    file = folder / "ground.zip"
    back_up(here, FolderStorage(ground.folder / "pictures"), file, at=ground.clock(), program="0", progress=_quietly)
    with Archive(file) as archive:
        restore(there, FolderStorage(folder / "restored"), archive, progress=_quietly)
    for store in (here, there):
        store.close()


@contextmanager
def an_empty_hall(folder: Path) -> Iterator[Store]:
    """Yield a hall on SQLite in which nobody is, for backups to be put back into."""
    store = Store(f"sqlite:///{folder / 'empty.sqlite'}")
    bring_up_to_date(store)
    try:
        yield store
    finally:
        store.close()


def _quietly(_done: int, _of: int, _what: str) -> None:
    """Say nothing."""


def _address(server: str, name: str) -> str:
    return server.replace("/postgres?", f"/{name}?")


def _make_database(server: str, name: str, *, like: str = "template1") -> None:
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {like}"))
    engine.dispose()
