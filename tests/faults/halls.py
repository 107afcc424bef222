"""Halls to do harm to: built once on each engine, copied for each drill, and opened by real server processes."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import text
from sqlalchemy.orm import Session

from drillhall.acts.import_catalogue import import_catalogue
from drillhall.acts.settle_secret import settle_secret
from drillhall.people import accounts
from drillhall.people.person import Preferences
from drillhall.pictures.storage import FolderStorage
from drillhall.practice import shelf
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from tests.cast import KEEPER, Someone
from tests.hashing import light_hashing
from tests.small_catalogue import write_small_catalogue

LEARNERS: Final = tuple(Someone(f"Faller {number}", f"heron number {number} stands in the rain", "UTC") for number in range(1, 9))
EVERYBODY: Final = (*LEARNERS, KEEPER)
START_SECONDS: Final = 60.0
COMMAND_SECONDS: Final = 120.0


@dataclass
class Hall:
    """A hall that real processes open: its data folder, the address of its database, an environment, and where what servers print goes."""

    folder: Path
    url: str
    environment: dict[str, str] = field(default_factory=dict)
    told_in: Path | None = None

    @property
    def is_sqlite(self) -> bool:
        """Whether its database is a file."""
        return self.url.startswith("sqlite")

    @property
    def storage(self) -> FolderStorage:
        """Where its pictures lie."""
        return FolderStorage(self.folder / "pictures")

    @contextmanager
    def store(self) -> Iterator[Store]:
        """Yield its store, opened beside whoever else has it open."""
        store = Store(self.url)
        try:
            yield store
        finally:
            store.close()

    def environ(self) -> dict[str, str]:
        """Return the environment in which its processes run."""
        plain = {name: value for name, value in os.environ.items() if not name.startswith("DRILLHALL_")}
        where = {} if self.is_sqlite else {"DRILLHALL_DATABASE_URL": self.url}
        return plain | where | {"PYTHONPATH": str(Path(__file__).resolve().parents[2])} | self.environment

    def command(self, *words: str | Path, before: Sequence[str] = ()) -> subprocess.CompletedProcess[str]:
        """Run a command on it to its end."""
        told = (*before, sys.executable, "-m", "drillhall", *map(str, words), "--data", str(self.folder))
        return subprocess.run(told, env=self.environ(), capture_output=True, text=True, timeout=COMMAND_SECONDS, check=False)

    def begin(self, *words: str | Path, before: Sequence[str] = ()) -> subprocess.Popen[str]:
        """Begin a command on it, which may be killed."""
        told = (*before, sys.executable, "-m", "drillhall", *map(str, words), "--data", str(self.folder))
        return subprocess.Popen(told, env=self.environ(), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)

    def serve(self, before: Sequence[str] = ()) -> Serving:
        """Return a server of it, on a port of its own, that has not been started."""
        return Serving(self, free_port(), tuple(before))


@dataclass
class Serving:
    """One server process of a hall, which is started again on the same port after a kill."""

    hall: Hall
    port: int
    before: tuple[str, ...] = ()
    process: subprocess.Popen[bytes] | None = None

    def start(self, *, wait: bool = True) -> None:
        """Start it, and wait until it answers."""
        words = (*self.before, sys.executable, "-m", "drillhall", "serve", "--data", str(self.hall.folder), "--port", str(self.port))
        with self.told_file.open("ab") as told:
            self.process = subprocess.Popen(words, env=self.hall.environ(), stdout=told, stderr=told)
        if wait:
            self.wait()

    @property
    def told_file(self) -> Path:
        """Where what it prints goes."""
        return (self.hall.told_in or self.hall.folder.parent) / f"{self.hall.folder.name}-{self.port}.told"

    @property
    def told(self) -> str:
        """What it has printed."""
        return self.told_file.read_text(encoding="utf-8", errors="replace")

    def wait(self, path: str = "/health", *, seconds: float = START_SECONDS) -> float:
        """Wait until it answers 200, and return how long that took."""
        began = time.monotonic()
        while time.monotonic() - began < seconds:
            if self.process is None or self.process.poll() is not None:
                raise RuntimeError(f"the server ended by itself:\n{self.told[-2000:]}")
            with suppress(OSError, urllib.error.URLError), urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=5):
                return time.monotonic() - began
            time.sleep(0.02)
        raise RuntimeError(f"the server did not answer {path} in {seconds:.0f} seconds:\n{self.told[-2000:]}")

    def end(self, how: int = signal.SIGKILL) -> int:
        """End it, by default as a crash would, and return its status."""
        if self.process is None:
            return 0
        self.process.send_signal(how)
        return self.process.wait(timeout=30)

    @property
    def is_up(self) -> bool:
        """Whether its process is there."""
        return self.process is not None and self.process.poll() is None


@contextmanager
def serving(hall: Hall, *, processes: int = 1, before: Sequence[str] = ()) -> Iterator[list[Serving]]:
    """Yield running servers of a hall, and end those that still run."""
    servers = [hall.serve(before) for _ in range(processes)]
    try:
        for server in servers:
            server.start()
        yield servers
    finally:
        for server in servers:
            if server.is_up:
                server.end()


def free_port() -> int:
    """Return a port on which nothing listens just now."""
    with socket.socket() as plug:
        plug.bind(("127.0.0.1", 0))
        return int(plug.getsockname()[1])


class Workplace:
    """Where drills take place: a folder of their own, and a PostgreSQL of their own, which keeps what it says it has kept."""

    def __init__(self, folder: Path, servers: Mapping[str, str]) -> None:
        self.folder = folder
        self._servers = servers  # engine: address of a database, from which others are made
        self._made: dict[str, Hall] = {}
        self._count = 0

    def hall(self, engine: str, *, within: Path | None = None) -> Hall:
        """Return a hall of its own with people, pairs and pictures on an engine; `within` names another folder to put it into."""
        if engine not in self._made:
            self._made[engine] = self._build(engine)
        made, fresh = self._made[engine], self._bare(engine, within or self.folder)
        shutil.copytree(made.folder, fresh.folder, dirs_exist_ok=True)
        if not fresh.is_sqlite:
            self._make_database(fresh.folder.name, like=made.folder.name)
        return fresh

    def bare(self, engine: str) -> Hall:
        """Return a hall whose database has no table yet."""
        hall = self._bare(engine, self.folder)
        if not hall.is_sqlite:
            self._make_database(hall.folder.name)
        return hall

    def _bare(self, engine: str, within: Path) -> Hall:
        self._count += 1
        name = f"hall_{os.getpid()}_{self._count}"
        folder = within / name
        folder.mkdir(mode=0o700)
        server = self._servers.get(engine, "")
        return Hall(folder, f"sqlite:///{folder / 'hall.sqlite'}" if engine == "sqlite" else server.replace("/postgres?", f"/{name}?"))

    def _build(self, engine: str) -> Hall:
        hall, now = self.bare(engine), datetime.now(UTC)
        with hall.store() as store:
            bring_up_to_date(store)
            settle_secret(store)
            with light_hashing(), store.work() as db:
                people = [_make(db, one, at=now) for one in EVERYBODY]
            catalogue = write_small_catalogue(self.folder / f"catalogue-{engine}")
            with store.work() as db:
                import_catalogue(db, hall.storage, catalogue, by=people[-1], at=now)
                for person in people:
                    for pair_set in shelf.list_sets(db, person):
                        shelf.take_set(db, person, pair_set.id, at=now)
        return hall

    def _make_database(self, name: str, *, like: str = "template1") -> None:
        """Make a database, as a copy of another one.

        PostgreSQL 18.6 loses what a sequence has given out since, if it crashes before its next checkpoint, where the copy was made by
        its usual strategy: seen with a table of one column. No hall is made by copying; ours shall not lose what theirs would not.
        """
        server = Store(self._servers["postgresql"])
        with server.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {like} STRATEGY file_copy"))
        server.close()


def _make(db: Session, one: Someone, *, at: datetime) -> int:
    wishes = Preferences(zone=one.zone)
    return accounts.make_account(db, name=one.name, passphrase=one.passphrase, at=at, is_keeper=one is KEEPER, preferences=wishes).id


def enrol(hall: Hall, *people: Someone) -> None:
    """Give people an account in a hall, and every pair set that is there."""
    now = datetime.now(UTC)
    with hall.store() as store, light_hashing(), store.work() as db:
        for person in [_make(db, one, at=now) for one in people]:
            for pair_set in shelf.list_sets(db, person):
                shelf.take_set(db, person, pair_set.id, at=now)
