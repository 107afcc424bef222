"""Signs what stands in a letter's links, so that the link itself is the proof: nobody signs in to be let out of a list."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from typing import Final

from itsdangerous import BadSignature, Signer

from drillhall.errors import NotFound
from drillhall.words import say

CONFIRM_ADDRESS: Final = "confirm address"
STOP_REMINDERS: Final = "stop reminders"
CONFIRM_QUESTION: Final = "confirm question"
STOP_QUESTION: Final = "stop question"
TIMED: Final = frozenset({CONFIRM_ADDRESS, CONFIRM_QUESTION})
"""What begins something holds until its time is over. What ends something is good as long as there is something to end: years, maybe."""


def seal(key: str, purpose: str, public_id: str, *, until: datetime | None = None) -> str:
    """Return a token for one purpose and one thing, by the thing's unguessable name; `key` is the hall's secret.

    `until` is when it is over: given where the purpose is TIMED, and nowhere else.
    """
    if (until is None) == (purpose in TIMED):
        raise ValueError(purpose)
    return _signer(key, purpose).sign(f"{public_id}.{int(until.timestamp())}" if until else public_id).decode()


def unseal(key: str, purpose: str, token: str, *, at: datetime) -> str:
    """Return the name that a token was made for.

    Raises NotFound where it was made for something else, elsewhere, or not at all, and where its time is over.
    """
    try:
        told = _signer(key, purpose).unsign(token.encode("utf-8", "surrogatepass")).decode()
    except (BadSignature, UnicodeDecodeError):
        raise NotFound(say("This link does not work: it was copied short, or is none of ours. Open it from the mail once more.")) from None
    if purpose not in TIMED:
        return told
    public_id, _, until = told.rpartition(".")
    if not public_id or int(until) < at.timestamp():
        raise NotFound(say("This link is over: two days have passed. If you did not follow it before, ask for the letter once more."))
    return public_id


def _signer(key: str, purpose: str) -> Signer:
    return Signer(key, salt=f"drillhall mail {purpose}", digest_method=sha256)
