"""Reads an address for mail as it was typed."""

from __future__ import annotations

import re
from typing import Final

from drillhall.errors import Invalid
from drillhall.words import say

LONGEST_ADDRESS: Final = 254
_LOCAL: Final = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
_DOMAIN: Final = re.compile(r"(?=.{1,253}\Z)(?:[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?\.)+[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")


def read_address(typed: str, *, field: str = "address") -> str:
    """Return an address as it is kept, its domain in small letters and in ASCII; raise Invalid where no mail could be sent to it.

    Source: RFC 5321 section 4.1.2 (Dot-string local part; quoted ones are refused here), 4.5.3.1 (lengths); domain names by RFC 1123,
    with a dot, since a bare name is this machine's own affair.
    """
    wrong = Invalid(say("That is no address for mail. Write it like oda@club.example."), field=field)
    local, at, domain = typed.strip().rpartition("@")
    try:
        domain = domain.encode("idna").decode("ascii").lower()
    except UnicodeError:
        raise wrong from None
    address = f"{local}@{domain}"
    if not at or not _LOCAL.fullmatch(local) or len(local) > 64 or not _DOMAIN.fullmatch(domain) or len(address) > LONGEST_ADDRESS:
        raise wrong
    return address
