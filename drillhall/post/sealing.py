"""Signs what stands in a letter's links, so that the link itself is the proof: nobody signs in to be let out of a list."""

from __future__ import annotations

from hashlib import sha256
from typing import Final

from itsdangerous import BadSignature, Signer

from drillhall.errors import NotFound
from drillhall.words import say

CONFIRM_ADDRESS: Final = "confirm address"
STOP_REMINDERS: Final = "stop reminders"
CONFIRM_QUESTION: Final = "confirm question"
STOP_QUESTION: Final = "stop question"


def seal(key: str, purpose: str, public_id: str) -> str:
    """Return a token for one purpose and one thing, by the thing's unguessable name; `key` is the hall's secret."""
    return _signer(key, purpose).sign(public_id).decode()


def unseal(key: str, purpose: str, token: str) -> str:
    """Return the name that a token was made for, or raise NotFound where it was made for something else, elsewhere, or not at all."""
    try:
        return _signer(key, purpose).unsign(token.encode("utf-8", "surrogatepass")).decode()
    except (BadSignature, UnicodeDecodeError):
        raise NotFound(say("This link does not work: it was copied short, or is none of ours. Open it from the mail once more.")) from None


def _signer(key: str, purpose: str) -> Signer:
    return Signer(key, salt=f"drillhall mail {purpose}", digest_method=sha256)
