"""How this hall sends mail, as its settings say, and the unguessable names that links in letters hang on."""

from __future__ import annotations

from uuid import UUID

from flask import current_app

from drillhall.config import Settings
from drillhall.errors import Unavailable
from drillhall.post.office import Office
from drillhall.post.sending import MailServer
from drillhall.web.session import dice, settings


def office_of(told: Settings, key: str) -> Office | None:
    """Return how a hall with these settings and this secret sends mail, or None where it sends none."""
    if told.mail is None or told.why_no_mail:
        return None
    server = MailServer(told.mail.host, told.mail.port, told.mail.security, told.mail.user, told.mail.password)
    return Office(server, told.mail.sender, told.public_url, key, told.language)


def the_office() -> Office:
    """Return how this hall sends mail, or raise Unavailable with the reason why it sends none."""
    office = office_of(settings(), str(current_app.secret_key))
    if office is None:
        raise Unavailable(settings().why_no_mail)
    return office


def new_name() -> str:
    """Return a new unguessable name."""
    return str(UUID(int=dice().getrandbits(128), version=4))
