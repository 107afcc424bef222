"""The blueprint of the door of the hall and of everybody's own account, and what the two share."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, redirect, url_for
from flask import session as form_session
from werkzeug.wrappers import Response as BaseResponse

from drillhall.people import passphrases, preferences
from drillhall.web import session
from drillhall.web.session import dice

blueprint: Final = Blueprint("account", __name__)
Page = str | tuple[str, int] | BaseResponse


def leave() -> BaseResponse:
    """Go out by the door, and have the browser drop what it kept of the hall."""
    form_session.clear()
    response = session.drop_sign_in_cookie(redirect(url_for("account.sign_in"), code=303))
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


def offer() -> str:
    """Return a passphrase that may be taken as it is."""
    return passphrases.offer_passphrase(dice=dice())


def zones() -> tuple[tuple[str, str], ...]:
    """Return every time zone: its key, and as it is read."""
    return tuple((zone, zone.replace("_", " ")) for zone in preferences.zones())
