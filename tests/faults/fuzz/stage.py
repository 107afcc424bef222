"""A hall that is asked in process, set back to how it was at will, and watched from outside: which rows and files are other than before."""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any, Final
from urllib.parse import unquote_to_bytes

from sqlalchemy import create_engine
from sqlalchemy.engine import Connection
from werkzeug.exceptions import HTTPException
from werkzeug.test import run_wsgi_app

from drillhall.config import Settings
from drillhall.pictures.storage import FolderStorage
from drillhall.store.base import Row
from drillhall.store.session import Store
from drillhall.web.app import make_app
from tests.faults.fuzz.drafts import Sent
from tests.faults.fuzz.ground import SETTINGS, Ground, copy_of

UNWATCHED: Final = {
    "attempt": "counts tries, which a refusal is one of",
    "sign_in.seen_at": "that a device is in use, whatever it asks for",
}
"""Tables and columns that a refused request may change, and why."""
VERSION: Final = {"sqlite": "PRAGMA data_version", "postgresql": "SELECT pg_snapshot_xmax(pg_current_snapshot())::text"}
"""What is another one once anything was written, in the words of each engine."""


@dataclass(frozen=True)
class Reply:
    """What came back: `raised` is what escaped the program, `fault` what its log says of a fault, `seconds` of a core."""

    status: int
    headers: dict[str, str]
    body: bytes
    seconds: float
    raised: str = ""
    fault: str = ""


class _Faults(logging.Handler):
    def __init__(self) -> None:
        super().__init__()
        self.last = ""

    def emit(self, record: logging.LogRecord) -> None:
        way = getattr(record, "told", {}).get("way", "")
        if record.levelno >= logging.ERROR:
            self.last = f"{record.getMessage()}\n{way}"


class Stage:
    """One hall on one engine; `address` of a database that `renew` sets back, and the folder of its files."""

    def __init__(self, ground: Ground, folder: Path, address: str, renew: Callable[[], None]) -> None:
        self.ground, self.folder, self.address, self._renew = ground, folder, address, renew
        self._store = Store(address)
        renew()
        copy_of(ground, folder)
        settings = Settings(data_folder=folder, database_url=address, **SETTINGS)
        self.app = make_app(settings, self._store, FolderStorage(settings.pictures_folder))
        self._faults = _Faults()
        logging.getLogger("drillhall").addHandler(self._faults)
        self._watcher: Connection | None = None
        self._files_at_first = self.files = self._read_files()
        self.set_back(Random(0))

    def set_back(self, dice: Random) -> None:
        """Set the hall back to how it was built."""
        self.close()
        self._renew()
        if self.files != self._files_at_first:
            copy_of(self.ground, self.folder)
        self.app.config.update(CLOCK=self.ground.clock, DICE=lambda: dice)
        self._watcher = create_engine(self.address).connect().execution_options(isolation_level="AUTOCOMMIT")
        self._version, self.rows, self.files = self._now_version(), self._read_rows(), self._read_files()
        self._files_at_first = self.files

    def close(self) -> None:
        """Let go of the database."""
        if self._watcher is not None:
            self._watcher.close()
            self._watcher.engine.dispose()
            self._watcher = None
        self._store.close()

    def endpoint_of(self, sent: Sent) -> str:
        """Return which route answers a request; empty where none does."""
        try:
            path = unquote_to_bytes(sent.path).decode(errors="replace")
            return str(self.app.url_map.bind("localhost").match(path, sent.method.upper().replace("HEAD", "GET"))[0])
        except HTTPException:
            return ""

    def ask(self, sent: Sent) -> Reply:
        """Ask once."""
        self._faults.last, began = "", time.process_time()
        try:
            body, status, headers = run_wsgi_app(self.app, sent.environ(), buffered=True)
            content = b"".join(body)
        except Exception as error:  # noqa: BLE001 - what escapes the program is what is looked for
            return Reply(0, {}, b"", time.process_time() - began, raised=f"{type(error).__name__}: {error}", fault=self._faults.last)
        return Reply(int(status.split()[0]), dict(headers), content, time.process_time() - began, fault=self._faults.last)

    def changes(self) -> list[str]:
        """Return which tables and files are other than when this was last asked."""
        version, files, found = self._now_version(), self._read_files(), list[str]()
        if version != self._version:
            rows = self._read_rows()
            found = [name for name in rows if rows[name] != self.rows[name]]
            self.rows, self._version = rows, version
        if files != self.files:
            found += [f"the file {name}" for name in sorted({name for name, _ in (files ^ self.files)})]
            self.files = files
        return found

    def _now_version(self) -> Any:
        return self._asked(VERSION["sqlite" if self.address.startswith("sqlite") else "postgresql"])[0][0]

    def _read_rows(self) -> dict[str, int]:
        return {name: hash(tuple(sorted(map(repr, self._asked(words))))) for name, words in _STATEMENTS.items()}

    def _asked(self, words: str) -> list[Any]:
        """Return rows as the driver gives them, which is quicker by far: they are read again and again."""
        assert self._watcher is not None
        cursor = self._watcher.exec_driver_sql(words).cursor
        assert cursor is not None
        return list(cursor.fetchall())

    def _read_files(self) -> frozenset[tuple[str, tuple[int, int]]]:
        return frozenset(_files(self.folder, ""))


def _files(folder: str | Path, within: str) -> Iterator[tuple[str, tuple[int, int]]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from _files(entry.path, f"{within}{entry.name}/")
            elif not entry.name.startswith("hall.sqlite"):
                told = entry.stat()
                yield within + entry.name, (told.st_size, told.st_mtime_ns)


def _statements() -> Iterator[tuple[str, str]]:
    for table in Row.metadata.sorted_tables:
        columns = ", ".join(f'"{column.name}"' for column in table.columns if f"{table.name}.{column.name}" not in UNWATCHED)
        if table.name not in UNWATCHED:
            yield table.name, f'SELECT {columns} FROM "{table.name}"'


_STATEMENTS: Final = dict(_statements())
