"""A whole hall for tests: built once, copied for each test, and opened on a free port of this machine with a clock to set."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from threading import Thread

from flask import Flask
from playwright.sync_api import Browser, BrowserContext
from sqlalchemy.orm import Session
from werkzeug.serving import WSGIRequestHandler, make_server

from drillhall.acts.import_catalogue import import_catalogue
from drillhall.config import Settings, read_settings
from drillhall.people import accounts
from drillhall.people.person import Person, Preferences
from drillhall.pictures.storage import FolderStorage
from drillhall.practice import shelf
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from drillhall.web.app import make_app
from drillhall.web.session import cookie_name
from tests import cast
from tests.hashing import light_hashing
from tests.serving import read_whole
from tests.small_catalogue import write_small_catalogue

MADE_AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)
"""When the hall was made: a Monday."""


@dataclass
class Clock:
    """The hall's time, which stands still until the test moves it."""

    now: datetime = MADE_AT + timedelta(hours=1)

    def __call__(self) -> datetime:
        """Return the time."""
        return self.now

    def pass_by(self, **span: float) -> None:
        """Let time pass, in the words of timedelta: days=1, minutes=5."""
        self.now += timedelta(**span)


class Silent(WSGIRequestHandler):
    """Serves without a line for each request, which would bury what a failing test has to say."""

    def log(self, type: str, message: str, *args: object) -> None:  # noqa: A002 - the name is Werkzeug's
        """Say nothing."""


@dataclass
class Hall:
    """An open hall: where it listens, what it keeps, and who is in it (the learner has taken the pair set, the stranger nothing)."""

    address: str
    folder: Path
    app: Flask
    store: Store
    storage: FolderStorage
    clock: Clock
    people: dict[cast.Someone, Person] = field(default_factory=dict)

    def sign_in(self, someone: cast.Someone) -> tuple[str, str]:
        """Sign somebody in on a new device and return her cookie's name and value."""
        with self.store.work() as db:
            who = accounts.recognise(db, name=someone.name, passphrase=someone.passphrase)
            token = accounts.sign_in(db, who, at=self.clock.now)
        with self.app.app_context():
            return cookie_name(), token

    def context(self, browser: Browser, someone: cast.Someone | None = None, **options: object) -> BrowserContext:
        """Return a new browser context, as if on a device of its own, with somebody signed in."""
        context = browser.new_context(base_url=self.address, **options)  # type: ignore[arg-type]  # the options are Playwright's own
        if someone is not None:
            name, value = self.sign_in(someone)
            context.add_cookies([{"name": name, "value": value, "url": self.address}])
        return context


def build_bare_hall(folder: Path) -> Path:
    """Write a hall as it is before its first run: a database, nobody and nothing in it."""
    folder.mkdir(exist_ok=True)
    store = Store(_settings(folder).database_url)
    bring_up_to_date(store)
    store.close()
    return folder


def build_hall(folder: Path, *, write: Callable[[Path], Path] = write_small_catalogue) -> Path:
    """Write a hall into a folder: keeper, learner and stranger, a catalogue (the small one), and its pair sets taken by the learner."""
    settings = _settings(build_bare_hall(folder))
    store = Store(settings.database_url)
    with light_hashing(), store.work() as db:
        keeper = _make(db, cast.KEEPER, is_keeper=True)
        learner = _make(db, cast.LEARNER)
        _make(db, cast.STRANGER)
    written = write(folder / "catalogue")
    with store.work() as db:
        import_catalogue(db, FolderStorage(settings.pictures_folder), written, by=keeper.id, at=MADE_AT)
        for pair_set in shelf.list_sets(db, learner.id):
            shelf.take_set(db, learner.id, pair_set.id, at=MADE_AT)
    store.close()
    return folder


def _make(db: Session, someone: cast.Someone, *, is_keeper: bool = False) -> Person:
    wishes = Preferences(zone=someone.zone)
    return accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=MADE_AT, is_keeper=is_keeper, preferences=wishes)


@contextmanager
def open_hall(built: Path, folder: Path, *, demo: bool = False) -> Iterator[Hall]:
    """Open a copy of a built hall on a free port, and close it on leaving."""
    settings = replace(_settings(Path(shutil.copytree(built, folder))), demo=demo)
    store, storage, clock = Store(settings.database_url), FolderStorage(settings.pictures_folder), Clock()
    app = make_app(settings, store, storage)
    dice = Random(5)
    app.config.update(CLOCK=clock, DICE=lambda: dice)
    server = make_server("127.0.0.1", 0, read_whole(app), threaded=True, request_handler=Silent)
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    hall = Hall(f"http://127.0.0.1:{server.server_port}", settings.data_folder, app, store, storage, clock)
    hall.people.update(_who_is_there(store))
    try:
        yield hall
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
        store.close()


def _who_is_there(store: Store) -> dict[cast.Someone, Person]:
    with store.look() as db:
        listed = {one.name: one.id for one in accounts.list_accounts(db)}
        there = [someone for someone in cast.EVERYBODY if someone.name in listed]
        return {someone: accounts.the_person_of(db, listed[someone.name]) for someone in there}


def _settings(folder: Path) -> Settings:
    return read_settings({}, data=folder)
