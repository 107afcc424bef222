"""A hall to visit over HTTP without a server: its people, its clock, and visitors who carry cookies and form tokens."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from drillhall.config import Settings
from drillhall.people import accounts, links, passphrases
from drillhall.people.person import Person, Preferences
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from drillhall.web.app import make_app
from tests.cast import LEARNER, Someone

WISHES = {"zone": "Asia/Kathmandu", "minutes_a_day": "25", "target_recall": "85", "new_a_day": "0", "round_length": "", "colour_vision": ""}
"""What the form of preferences sends."""

MORNING = datetime(2031, 3, 3, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def quick_hashing(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Argon2id as in earnest, but light: a test is not what it protects. Its real cost is checked in tests/people."""
    monkeypatch.setattr(passphrases, "HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    passphrases.hash_of_nobody.cache_clear()
    yield
    passphrases.hash_of_nobody.cache_clear()


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
    app = make_app(told, store, FolderStorage(told.pictures_folder))
    hall = Hall(app, store, folder, base=told.public_url or "http://localhost")
    app.config.update(CLOCK=hall.clock)
    return hall


def signs_in(visitor: Visitor, name: str = LEARNER.name, passphrase: str = LEARNER.passphrase, **more: str) -> int:
    """Try to sign in and return the status of the answer."""
    return visitor.post("/sign-in", {"name": name, "passphrase": passphrase} | more).status_code
