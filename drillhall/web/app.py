"""Makes the web application: blueprints, who may, headers, error pages."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final

from flask import Flask, Response, current_app, g, request
from flask_wtf import CSRFProtect

from drillhall import __version__
from drillhall.acts.settle_secret import settle_secret
from drillhall.config import Settings, asset_folder
from drillhall.core.cautions import cautions
from drillhall.people import permissions
from drillhall.people.person import Person
from drillhall.store.session import Store
from drillhall.web import (
    account,
    account_privacy,
    assets,
    catalogue,
    compressing,
    curating,
    errors,
    forms,
    given,
    groups,
    health,
    helping,
    keeper,
    languages,
    learner,
    mail,
    offline,
    open_questions,
    pictures,
    rendering,
    second_step,
    session,
    sittings,
    specimens,
    teacher,
    watching,
    weak_spots,
    wording,
)
from drillhall.web.learner.room import queue_key
from drillhall.web.proxy import BelieveOneProxy
from drillhall.web.who_may import ACTION_OF
from drillhall.words import say

if TYPE_CHECKING:
    from drillhall.pictures.storage import Storage

BLUEPRINTS: Final = (
    account.blueprint,
    account_privacy.blueprint,
    given.blueprint,
    second_step.blueprint,
    keeper.blueprint,
    learner.blueprint,
    pictures.blueprint,
    catalogue.blueprint,
    curating.blueprint,
    groups.blueprint,
    open_questions.blueprint,
    teacher.blueprint,
    sittings.blueprint,
    mail.blueprint,
    weak_spots.blueprint,
    health.blueprint,
    offline.blueprint,
    helping.blueprint,
    specimens.blueprint,
)

ROOMS: Final = (
    ("learner.today", say("Today")),
    ("learner.standing", say("Standing")),
    ("pictures.my_pictures", say("Pictures")),
    ("learner.shelf", say("Shelf")),
    ("groups.all_groups", say("Groups")),
    ("keeper.state", say("Hall")),
    ("account.settings", say("You")),
)
"""The rooms that the way about names, in order; who may not enter one does not see it."""

MOST_BYTES: Final = 64 * 1024 * 1024
"""The largest request taken: a batch of photographs."""

CSP: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; manifest-src 'self'; "
    "worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'"
)

HEADERS: Final = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}

csrf = CSRFProtect()


class _Hall(Flask):
    """The application, which leaves the log of faults to the error pages."""

    def log_exception(self, *_: Any) -> None:
        """Write nothing: Flask would write down the address, which may hold a token, and the error's words."""


def make_app(settings: Settings, store: Store, storage: Storage) -> Flask:
    """Return the application of one hall, whose database is up to date; makes the hall's secret when it has none."""
    app = _Hall(
        "drillhall",
        template_folder=str(asset_folder("templates")),
        static_folder=None,
    )
    app.extensions.update({"drillhall.settings": settings, "drillhall.store": store, "drillhall.storage": storage})
    app.secret_key = settle_secret(store, settings.secret)
    _configure(app, settings)
    watching.init_app(app)
    languages.init_app(app)
    forms.init_app(app)
    app.before_request(session.check_host)
    csrf.init_app(app)
    app.before_request(session.guard)
    # What comes in last is run first after a request: the headers are whole before the words are packed.
    compressing.init_app(app)
    app.after_request(_add_headers)
    assets.init_app(app)
    errors.init_app(app)
    rendering.init_app(app)
    wording.init_app(app)
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    # A mail program that ends a list by one click has no form and no cookie; the seal in the address is its proof.
    csrf.exempt(mail.links.follow)
    app.context_processor(_for_templates)
    if settings.trusted_proxy:
        app.wsgi_app = BelieveOneProxy(app.wsgi_app, settings.trusted_proxy)  # type: ignore[method-assign]  # middleware is hung so
    return app


def rooms_for(person: Person | None) -> tuple[tuple[str, str], ...]:
    """Return endpoint and word of each room that somebody may enter."""
    roles = permissions.roles_of(person)
    return tuple(
        (endpoint, word)
        for endpoint, word in ROOMS
        if endpoint in current_app.view_functions and permissions.may(roles, ACTION_OF[endpoint])
    )


def _configure(app: Flask, settings: Settings) -> None:
    prefix = "__Host-" if settings.is_https else ""
    with app.app_context():
        form_cookie = session.cookie_name("form")
    app.config.update(
        CSP=CSP,
        CLOCK=lambda: datetime.now(UTC),
        DICE=random.SystemRandom,
        MAX_CONTENT_LENGTH=MOST_BYTES,
        MAX_FORM_MEMORY_SIZE=1_000_000,
        MAX_FORM_PARTS=2_000,
        SESSION_COOKIE_NAME=form_cookie,
        SESSION_COOKIE_SECURE=bool(prefix),
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        # A page may lie open through a day's outing; its token is good as long as the browser keeps its session.
        WTF_CSRF_TIME_LIMIT=None,
        WTF_CSRF_FIELD_NAME="csrf_token",
    )


def _add_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if session.settings().is_https:
        response.headers.setdefault("Strict-Transport-Security", "max-age=31536000")
    if request.endpoint != "static":
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def _for_templates() -> dict[str, object]:
    person = session.find_person()
    return {
        "person": person,
        "queue_key": queue_key(person) if person else "",
        "paper": assets.shade("paper"),
        "rooms_for": rooms_for,
        "is_demo": session.settings().demo,
        "second_step_due": g.get("second_step_due"),
        "why_no_mail": session.settings().why_no_mail,
        "version": __version__,
        "on_every_print": cautions("other", "print"),
    }
