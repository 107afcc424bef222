"""A hall to visit over HTTP without a server: its people, its clock, and visitors who carry cookies and form tokens."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from drillhall.acts.settle_secret import settle_secret
from drillhall.config import Settings
from drillhall.people import accounts, links
from drillhall.people.person import Person, Preferences
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from drillhall.web.app import make_app
from drillhall.web.session import cookie_name
from tests.cast import LEARNER, Someone

WISHES = {"zone": "Asia/Kathmandu", "minutes_a_day": "25", "target_recall": "85", "new_a_day": "0", "round_length": "", "colour_vision": ""}
"""What the form of preferences sends."""

MORNING = datetime(2031, 3, 3, 9, tzinfo=UTC)


@dataclass
class Clock:
    """A clock that stands still until it is moved."""

    at: datetime = MORNING

    def __call__(self) -> datetime:
        return self.at

    def move(self, **by: float) -> None:
        self.at += timedelta(**by)


class Visitor:
    """A browser: keeps cookies, fetches a form token before it sends a form."""

    def __init__(self, app: Flask, base: str) -> None:
        self.client: FlaskClient = app.test_client()
        self.base = base

    def get(self, path: str, **more: Any) -> TestResponse:
        return self.client.get(path, base_url=self.base, **more)

    def post(self, path: str, fields: dict[str, Any] | None = None, **more: Any) -> TestResponse:
        sent = {"csrf_token": self.token()} | (fields or {})
        more.setdefault("headers", {"Referer": f"{self.base}/"})
        return self.client.post(path, data=sent, base_url=self.base, **more)

    def token(self) -> str:
        answer = self.get("/csrf").get_json()
        return str(answer["token"])

    def cookies(self) -> dict[str, str]:
        return {cookie.key: cookie.value for cookie in self.client._cookies.values()}

    def is_in(self) -> bool:
        return self.get("/settings").status_code == 200


@dataclass
class Hall:
    """An open hall with nobody in it."""

    app: Flask
    store: Store
    folder: Path
    base: str = "http://localhost"
    clock: Clock = field(default_factory=Clock)

    def visitor(self) -> Visitor:
        return Visitor(self.app, self.base)

    def add(self, someone: Someone, *, is_keeper: bool = False) -> Person:
        with self.store.work() as db:
            wishes = Preferences(zone=someone.zone)
            return accounts.make_account(
                db, name=someone.name, passphrase=someone.passphrase, at=self.clock(), is_keeper=is_keeper, preferences=wishes
            )

    def enter(self, someone: Someone, *, is_keeper: bool = False, known: bool = False) -> Visitor:
        """Return somebody signed in by the form, with a new account unless she is `known`."""
        if not known:
            self.add(someone, is_keeper=is_keeper)
        visitor = self.visitor()
        answer = visitor.post("/sign-in", {"name": someone.name, "passphrase": someone.passphrase})
        assert answer.status_code == 303, answer.text
        return visitor

    def first_run_token(self) -> str:
        with self.store.work() as db:
            return links.make_link(db, links.FIRST_RUN, until=self.clock() + timedelta(hours=24))


def open_hall(store: Store, folder: Path, **settings: Any) -> Hall:
    """Open a hall over an empty store."""
    told = Settings(data_folder=folder, database_url=store.url, **settings)
    storage = FolderStorage(told.pictures_folder)
    app = make_app(told, store, storage) if settings else _app_like_the_last(told, store, storage)
    hall = Hall(app, store, folder, base=told.public_url or "http://localhost")
    app.config.update(CLOCK=hall.clock)
    return hall


def _app_like_the_last(told: Settings, store: Store, storage: FolderStorage) -> Flask:
    """Return an application of its own with the routes and compiled templates of the first: making those anew takes longer than a test."""
    if not _FIRST:
        _FIRST.append(make_app(told, store, storage))
    app = copy(_FIRST[0])
    app.config, app.view_functions = copy(app.config), dict(app.view_functions)
    app.extensions = app.extensions | {"drillhall.settings": told, "drillhall.store": store, "drillhall.storage": storage}
    app.secret_key = settle_secret(store)
    with app.app_context():
        app.config["SESSION_COOKIE_NAME"] = cookie_name("form")
    return app


_FIRST: list[Flask] = []


def signs_in(visitor: Visitor, name: str = LEARNER.name, passphrase: str = LEARNER.passphrase, **more: str) -> int:
    """Try to sign in and return the status of the answer."""
    return visitor.post("/sign-in", {"name": name, "passphrase": passphrase} | more).status_code
