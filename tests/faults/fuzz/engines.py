"""Puts the same hall onto either engine, again and again."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import create_engine, text

from drillhall.acts.back_up import back_up
from drillhall.acts.restore import restore
from drillhall.pictures.storage import FolderStorage
from drillhall.store.archive import Archive
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from tests.faults.fuzz.databases import OnPostgresql, OnSqlite
from tests.faults.fuzz.ground import Ground, copy_of
from tests.faults.fuzz.stage import Stage

TEMPLATE: Final = "fuzz_ground"
BACKUP: Final = "ground.zip"
"""What the backup is called of which the template was made."""


@contextmanager
def a_stage(ground: Ground, folder: Path, server: str) -> Iterator[Stage]:
    """Yield a hall whose files lie in a folder: on PostgreSQL where `server` is an address of one, else on SQLite."""
    copy_of(ground, folder)
    name = f"fuzz_{os.getpid()}"
    if server:
        _make_database(server, name, like=TEMPLATE)
    stage = Stage(ground, folder, OnPostgresql(_address(server, name)) if server else OnSqlite(ground.folder / "hall.sqlite", folder))
    try:
        yield stage
    finally:
        stage.close()
        shutil.rmtree(folder, ignore_errors=True)


def put_on_postgresql(ground: Ground, folder: Path, server: str) -> None:
    """Restore a backup of the hall into a database there, of which others are made."""
    _make_database(server, TEMPLATE)
    here, there = Store(f"sqlite:///{ground.folder / 'hall.sqlite'}"), Store(_address(server, TEMPLATE))
    file = folder / BACKUP
    back_up(here, FolderStorage(ground.folder / "pictures"), file, at=ground.clock(), program="0", progress=_quietly)
    with Archive(file) as archive:
        restore(there, FolderStorage(folder / "restored"), archive, progress=_quietly)
    for store in (here, there):
        store.close()


class EmptyHall:
    """A hall on SQLite in which nobody is, for backups to be put back into; `renew` empties it."""

    def __init__(self, folder: Path) -> None:
        self._file, self._kept, self.pictures = folder / "empty.sqlite", folder / "kept.sqlite", folder / "restored"
        kept = Store(f"sqlite:///{self._kept}")
        bring_up_to_date(kept)
        kept.fold_log()
        kept.close()
        self.store = Store(f"sqlite:///{self._file}")
        self.renew()

    def renew(self) -> None:
        """Empty it of whatever was put into it."""
        self.store.close()
        for path in self._file.parent.glob(f"{self._file.name}*"):
            path.unlink()
        shutil.copy(self._kept, self._file)
        shutil.rmtree(self.pictures, ignore_errors=True)


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
