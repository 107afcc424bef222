"""The log of refusals: what the hall did not let somebody do, by page and, where she was signed in, by her mark."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from flask import request

from drillhall.errors import DrillhallError, NotAllowed, NotFound, TooMany
from drillhall.people import marks
from drillhall.web import session
from drillhall.web.faults import REFUSALS

NO_HOST: Final = "host refused"
NO_TOKEN: Final = "form token refused"  # noqa: S105 - an event
NOT_HERS: Final = "access refused"
TOO_OFTEN: Final = "too many tries"
TOO_LARGE: Final = "too large"


def note_error(error: DrillhallError) -> None:
    """Write down what an error of ours refused, where that was a right or a limit.

    A visitor who asks for what is not there was refused nothing of anybody's; the log of requests has her, as it has mistyped forms.
    """
    if isinstance(error, TooMany):
        note(TOO_OFTEN, _mark())
    elif isinstance(error, NotFound | NotAllowed) and (mark := _mark()):
        note(NOT_HERS, mark)


def note_form() -> None:
    """Write down that a form came without its token."""
    note(NO_TOKEN, _mark())


def note(event: str, mark: str = "") -> None:
    """Write one line."""
    REFUSALS.info(event, extra={"told": {"page": request.endpoint or "", "who": mark}})


def _mark() -> str:
    """Return the mark of whoever is signed in, or empty; a database that is away must not make another error of it."""
    with suppress(DrillhallError):
        person = session.find_person()
        if person is not None:
            with session.store().look() as db:
                return marks.mark_of(db, person.id)
    return ""
