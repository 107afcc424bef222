"""What a browser is asked for by a passkey: on which site, by whom, and what its session keeps until it answers, once."""

from __future__ import annotations

from datetime import datetime
from ipaddress import ip_address
from typing import Final
from urllib.parse import urlsplit

from flask import request
from flask import session as form_session

from drillhall.errors import Invalid, NotFound
from drillhall.people import ceremonies, passkeys
from drillhall.people.ceremonies import Site
from drillhall.people.passkeys import Asked
from drillhall.people.second_step import Shown
from drillhall.web import session
from drillhall.web.second_step.room import blueprint
from drillhall.words import say

_KEPT_AS: Final = "passkey asked"
MOST_SAID: Final = 20_000
"""Letters of what a browser says: a key of 4096 bits and the longest id are a third of it."""


@blueprint.app_context_processor
def for_templates() -> dict[str, object]:
    """Let pages know whether this hall has passkeys at all, and whether they work at the address by which it is asked."""
    return {"has_passkeys": ceremonies.is_installed, "passkey_site": find_site}


def find_site() -> Site | None:
    """Return where passkeys are bound to, or None where a browser would make none: the public address, else this machine by name.

    The standard wants https or `localhost`, and a name: an IP address is none.
    """
    public = session.settings().public_url
    address = urlsplit(public or request.host_url)
    host = address.hostname or ""
    is_asked_there = (urlsplit(request.host_url).hostname or "") == host
    if not ceremonies.is_installed() or not is_asked_there or not (host == "localhost" or (address.scheme == "https" and _is_name(host))):
        return None
    return Site(host, f"{address.scheme}://{address.netloc.lower()}")


def the_site() -> Site:
    """Return where passkeys are bound to, or raise NotFound."""
    site = find_site()
    if site is None:
        raise NotFound(say("There are no passkeys here."))
    return site


def keep_asked(asked: Asked) -> None:
    """Keep what was asked in the browser's session, in the place of anything asked before."""
    form_session[_KEPT_AS] = [asked.account_id, asked.challenge, asked.at.isoformat(), asked.handle]


def take_asked() -> Asked:
    """Return what was asked and forget it, or raise Invalid where nothing was."""
    kept = form_session.pop(_KEPT_AS, None)
    if kept is None:
        raise Invalid(ceremonies.NOT_IT, field="code")
    return Asked(kept[0], kept[1], datetime.fromisoformat(kept[2]), kept[3])


def recognise_said(whom: int) -> Shown:
    """Return the passkey that was shown for somebody (0: for whoever it names); raises Invalid."""
    said, asked, site = passkey_said(), take_asked(), the_site()
    with session.store().look() as db:
        return passkeys.recognise(db, site, asked, said, whom=whom, at=session.now())


def passkey_said() -> str:
    """Return what the browser says of a passkey, or empty where it says nothing."""
    said = request.form.get("passkey", "")
    if len(said) > MOST_SAID:
        raise Invalid(ceremonies.NOT_IT, field="code")
    return said


def _is_name(host: str) -> bool:
    try:
        ip_address(host)
    except ValueError:
        return bool(host)
    return False
