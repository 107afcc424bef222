"""The code that somebody typed to be let in, carried from the page that asks for it to the one that lets her join."""

from __future__ import annotations

from typing import Final

from flask import session as form_session

from drillhall.errors import NotFound
from drillhall.people.invitations import Code
from drillhall.words import say

BY_CODE: Final = "code"
"""What stands in an address in place of a link's token: the code itself never does."""
_KEPT_AS: Final = "code to join by"


def keep(code: Code) -> str:
    """Keep a code that was found good in her own browser, signed, and return what stands for it in an address."""
    form_session[_KEPT_AS] = code.typed
    return BY_CODE


def key_of(token: str) -> str | Code:
    """Return what opens an invitation: the token in an address, or the code that she typed, whose guesses were counted then."""
    if token != BY_CODE:
        return token
    if _KEPT_AS not in form_session:
        raise NotFound(say("Type the code first."))
    return Code(str(form_session[_KEPT_AS]))
