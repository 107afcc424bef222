"""A hall that is asked in process, set back to how it was at will, and watched from outside: which rows and files are other than before."""

from __future__ import annotations

import logging
import time
from dataclasses import dataclass
from pathlib import Path
from random import Random
from urllib.parse import unquote_to_bytes

from werkzeug.exceptions import HTTPException
from werkzeug.test import run_wsgi_app

from drillhall.config import Settings
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from drillhall.web.app import make_app
from tests.faults.fuzz.databases import Database
from tests.faults.fuzz.drafts import Sent
from tests.faults.fuzz.files import Files
from tests.faults.fuzz.ground import SETTINGS, Ground


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
    """One hall on one engine, and the folder of its files."""

    def __init__(self, ground: Ground, folder: Path, database: Database) -> None:
        self.ground, self.folder, self._database = ground, folder, database
        self.store = Store(database.address)
        settings = Settings(data_folder=folder, database_url=database.address, **SETTINGS)
        self.app = make_app(settings, self.store, FolderStorage(settings.pictures_folder))
        self._faults = _Faults()
        logging.getLogger("drillhall").addHandler(self._faults)
        self._files = Files(folder)
        self._files_at_first, self._rows_at_first = self._files.seen, database.read()
        self._version, self._rows = database.version(), self._rows_at_first
        self.set_back(Random(0))

    def set_back(self, dice: Random) -> None:
        """Set the hall back to how it was built, once all of it was read: what changed unseen breaks the drill off."""
        if unseen := self.changes(closely=True):
            raise AssertionError(f"changed after an answer, or unseen: {unseen}")
        self._database.set_back(self.store.close)
        self._files.set_back(self.ground.folder, self._files_at_first)
        self.app.config.update(CLOCK=self.ground.clock, DICE=lambda: dice)
        self._version, self._rows = self._database.version(), self._rows_at_first

    def close(self) -> None:
        """Let go of the database and the files."""
        self._database.close()
        self._files.close()
        self.store.close()

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

    def changes(self, *, closely: bool = False) -> list[str]:
        """Return which tables and files are other than when this was last asked.

        Unless `closely`, they are read only where the database or the kernel tells that anything was written.
        """
        version, found = self._database.version(), list[str]()
        if closely or version != self._version:
            rows = self._database.read()
            found = [name for name in sorted(rows.keys() | self._rows) if rows.get(name) != self._rows.get(name)]
            self._rows, self._version = rows, version
        return found + [f"the file {name}" for name in self._files.look(closely=closely)]
