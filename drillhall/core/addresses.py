"""Reads an address for mail as it was typed."""

from __future__ import annotations

import re
from typing import Final

from drillhall.errors import Invalid
from drillhall.words import say

LONGEST_ADDRESS: Final = 254
READ_IN_TWO_WAYS: Final = frozenset("ßς\u200c\u200d")
"""Signs of which IDNA 2003, as Python has it, makes others or nothing, and IDNA 2008, as browsers and mail servers have it, does not:
straße and strasse are two domains. Source: Unicode Technical Standard 46, section 1.3 (deviation characters)."""

_LOCAL: Final = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
_DOMAIN: Final = re.compile(r"(?=.{1,253}\Z)(?:[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?\.)+[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")


def ascii_domain(typed: str) -> str | None:
    """Return a domain in small letters and in ASCII, or None where it cannot be told which one is meant; it may still be none.

    >>> ascii_domain("Möwe.Example"), ascii_domain("straße.example")
    ('xn--mwe-sna.example', None)
    """
    if not READ_IN_TWO_WAYS.isdisjoint(typed.lower()):
        return None
    try:
        return typed.encode("idna").decode("ascii").lower()
    except UnicodeError:
        return None


def read_address(typed: str, *, field: str = "address") -> str:
    """Return an address as it is kept, its domain in small letters and in ASCII; raise Invalid where no mail could be sent to it.

    Source: RFC 5321 section 4.1.2 (Dot-string local part; quoted ones are refused here), 4.5.3.1 (lengths); domain names by RFC 1123,
    with a dot, since a bare name is this machine's own affair.
    """
    wrong = Invalid(say("That is no address for mail. Write it like oda@club.example."), field=field)
    local, at, said = typed.strip().rpartition("@")
    domain = ascii_domain(said) or ""
    address = f"{local}@{domain}"
    if not at or not _LOCAL.fullmatch(local) or len(local) > 64 or not _DOMAIN.fullmatch(domain) or len(address) > LONGEST_ADDRESS:
        raise wrong
    return address
