"""Who is asking, and what every view needs: the store, the storage of pictures, the time and the dice."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from hashlib import sha256
from random import Random
from typing import TYPE_CHECKING, Final, cast

from flask import current_app, g, request
from werkzeug.exceptions import SecurityError
from werkzeug.wrappers import Response

from drillhall.config import Settings
from drillhall.errors import NotFound
from drillhall.people import accounts, demanding, permissions, sign_ins
from drillhall.people.person import Person
from drillhall.store.session import Store
from drillhall.web.who_may import ACTION_OF
from drillhall.words import say

if TYPE_CHECKING:
    from drillhall.pictures.storage import Storage

UNSAFE = frozenset({"POST", "PUT", "PATCH", "DELETE"})
NOTE_USE: Final = frozenset({"learner.answer"})
"""Endpoints that note use (`sign_ins.note_use`) at the end of their own work: they are asked often, and one commit costs less than two."""


class SignInNeeded(Exception):
    """Nobody is signed in, and this page is somebody's."""


def settings() -> Settings:
    """Return the hall's settings."""
    return cast(Settings, current_app.extensions["drillhall.settings"])


def store() -> Store:
    """Return the hall's store."""
    return cast(Store, current_app.extensions["drillhall.store"])


def storage() -> Storage:
    """Return where the bytes of pictures lie."""
    return cast("Storage", current_app.extensions["drillhall.storage"])


def now() -> datetime:
    """Return the time, aware and in UTC; the same throughout a request."""
    if "now" not in g:
        g.now = cast(Callable[[], datetime], current_app.config["CLOCK"])()
    return cast(datetime, g.now)


def dice() -> Random:
    """Return the dice to shuffle with."""
    return cast(Callable[[], Random], current_app.config["DICE"])()


def find_person() -> Person | None:
    """Return who is signed in, or None."""
    if "person" not in g:
        token = sign_in_token()
        g.person = None
        if token:
            with store().look() as db:
                g.person = accounts.whoami(db, token, at=now())
    return cast(Person | None, g.person)


def the_person() -> Person:
    """Return who is signed in, or send the visitor to the sign-in page (a page) or answer 401 (JSON)."""
    person = find_person()
    if person is None:
        raise SignInNeeded
    return person


def check_host() -> None:
    """Refuse a request for another host's name: a page elsewhere may have pointed a name of its own at this machine.

    The framework has a list for this, TRUSTED_HOSTS, which cannot hold an IPv6 address.
    """
    host, _, port = request.host.lower().rpartition(":")
    if (host if port.isdigit() and host else request.host.lower()) not in settings().hosts:
        raise SecurityError("not a host of this hall")


def guard() -> None:
    """Refuse what the table of permissions does not grant; runs before every view.

    Raises SignInNeeded for a visitor, NotFound for anybody else, as if the page were not there; SecondStepDue for whoever has to set up
    a second step before she sees to what is others'.
    """
    if request.endpoint is None:
        return
    action = ACTION_OF[request.endpoint]
    if permissions.may(permissions.roles_of(None), action):
        return
    person = the_person()
    roles = permissions.roles_of(person)
    if not permissions.may(roles, action) and not _may_by_role(person, action):
        raise NotFound(say("There is no such page here."))
    if permissions.is_over_others(action):
        _check_second_step(person)
    if request.method in UNSAFE and request.endpoint not in NOTE_USE and sign_ins.is_use_to_note(person, at=now()):
        with store().work() as db:
            sign_ins.note_use(db, person, at=now())


def sign_in_token() -> str:
    """Return the token that the browser shows, or empty."""
    return request.cookies.get(cookie_name(), "")


def set_sign_in_cookie(response: Response, token: str, *, stay: bool) -> Response:
    """Give the browser its sign-in; without `stay` it forgets it when it is closed."""
    age = int(sign_ins.LONGEST_STAYING.total_seconds()) if stay else None
    response.set_cookie(cookie_name(), token, max_age=age, path="/", secure=settings().is_https, httponly=True, samesite="Lax")
    return response


def drop_sign_in_cookie(response: Response) -> Response:
    """Take the sign-in back from the browser."""
    response.delete_cookie(cookie_name(), path="/", secure=settings().is_https, httponly=True, samesite="Lax")
    return response


def outside_address(path: str) -> str:
    """Return the address by which others reach a page."""
    return (settings().public_url or request.host_url.rstrip("/")) + path


def cookie_name(what: str = "in") -> str:
    """Return a cookie's name.

    It carries a mark of this hall, since two halls on one machine share cookies: a browser does not part them by port.
    """
    mark = sha256(f"cookie {current_app.secret_key!r}".encode()).hexdigest()[:6]
    return f"{'__Host-' if settings().is_https else ''}drillhall-{what}-{mark}"


def _may_by_role(person: Person, action: str) -> bool:
    """Whether somebody may by what she is in a catalogue or a group; in which of them, its view asks."""
    with store().look() as db:
        is_steward, in_groups = permissions.is_steward(db, person), permissions.roles_in_groups(db, person)
    return permissions.may(permissions.roles_of(person, is_steward=is_steward, in_groups=in_groups), action)


def _check_second_step(person: Person) -> None:
    """Raise SecondStepDue where the hall demands a second step and she has none; in the time of grace note when that will be."""
    with store().look() as db:
        due = demanding.find_due(db, person)
    if due is not None and due <= now():
        raise demanding.SecondStepDue
    g.second_step_due = due
