"""Reads what was typed: one value out of a form, in the type it must have, or a clear sentence."""

from __future__ import annotations

from datetime import date
from math import inf, isfinite
from typing import Final

from flask import Flask, request
from werkzeug.exceptions import NotFound
from werkzeug.routing import IntegerConverter

from drillhall.errors import Invalid
from drillhall.words import say

LARGEST_ID: Final = 2**31 - 1
"""What a number in an address may be at most: what PostgreSQL keeps an id in."""


class Id(IntegerConverter):
    """A number in an address, as large as an id can be; a larger one names nothing, so there is no such page."""

    def to_python(self, value: str) -> int:
        """Return the number; where it is no id there is no page, by whatever method it is asked for."""
        if len(value) > len(str(LARGEST_ID)) or int(value) > LARGEST_ID:
            raise NotFound
        return int(value)


def init_app(app: Flask) -> None:
    """Let `<int:…>` in an address mean an id, and HEAD mean GET."""
    app.url_map.converters["int"] = Id
    app.before_request(take_head_for_get)
    app.before_request(refuse_zeros)


def take_head_for_get() -> None:
    """Let a HEAD be answered as the GET that it asks about (RFC 9110, section 9.3.2); runs before every view.

    A view shows on GET and acts on all else, and a HEAD that carries a form needs no token. Its answer goes without a body all the
    same: that is decided by what the server was asked.
    """
    if request.method == "HEAD":
        request.method = "GET"


def refuse_zeros() -> None:
    """Refuse an address with a zero byte in it, which no database keeps and PostgreSQL does not even look for; runs before every view.

    Raises NotFound where it stands in the path, Invalid where it stands behind the question mark.
    """
    if "\x00" in request.path:
        raise NotFound
    for field, value in request.args.items(multi=True):
        if "\x00" in field or "\x00" in value:
            raise Invalid(say("That holds a sign that cannot be stored. Type it anew."), field=field.replace("\x00", ""))


def text(field: str, *, most: int = 400) -> str:
    """Return a field as it was typed, or empty when it was not sent."""
    value = request.form.get(field, "")
    if len(value) > most:
        raise Invalid(say("That is too long: {most} letters at most.", most=most), field=field)
    if "\x00" in value:
        raise Invalid(say("That holds a sign that cannot be stored. Type it anew."), field=field)
    return value


def whole(field: str, label: str) -> int:
    """Return a field as a whole number; `label` names it in the sentence when it is none."""
    value = text(field, most=40).strip()
    try:
        number = int(value) if value.isascii() else None
    except ValueError:
        number = None
    if number is None or abs(number) > 10**9:
        raise Invalid(say("{label} must be a whole number, such as 10.", label=label), field=field)
    return number


def chosen(field: str, label: str) -> int:
    """Return the number of what was chosen from a list or by a button; `label` names it in the sentence when none of them was."""
    value = text(field, most=40).strip()
    if not (value.isascii() and value.isdecimal()) or int(value) > LARGEST_ID:
        raise Invalid(say("{label}: choose one of those shown.", label=label), field=field)
    return int(value)


def decimal(field: str, label: str) -> float:
    """Return a field as a number with or without decimals, told by a point or a comma."""
    value = text(field, most=40).strip().replace(",", ".")
    try:
        number = float(value) if value.isascii() else inf
    except ValueError:
        number = inf
    if not isfinite(number) or abs(number) > 10**9:
        raise Invalid(say("{label} must be a number, such as 12.5.", label=label), field=field)
    return number


def day(field: str, label: str) -> date | None:
    """Return a field as a day, or None when it was left empty."""
    value = text(field, most=40).strip()
    if not value:
        return None
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise Invalid(say("{label} must be a day, such as 2031-03-09.", label=label), field=field) from None


def the_day(field: str, label: str) -> date:
    """Return a field as a day; an empty one is refused."""
    found = day(field, label)
    if found is None:
        raise Invalid(say("{label} is not given. Choose a day.", label=label), field=field)
    return found


def asked_id(name: str) -> int | None:
    """Return a number behind the question mark of an address, or None where there is none that could be an id."""
    value = request.args.get(name, type=int)
    return value if value is not None and abs(value) <= LARGEST_ID else None


def ticked(field: str) -> bool:
    """Whether a box is ticked."""
    return field in request.form


def safe_next(target: str) -> str:
    """Return where to go on to when it is a page of this hall, else empty.

    A browser reads "//host" and a backslash as another host, so neither passes.
    """
    if not target.startswith("/") or target.startswith("//") or "\\" in target or len(target) > 500:
        return ""
    return "" if any(ord(sign) < 32 or ord(sign) == 127 for sign in target) else target
