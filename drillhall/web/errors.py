"""What a visitor reads when something is wrong: one sentence, what became of her work, what to do."""

from __future__ import annotations

import secrets
from contextlib import suppress
from typing import Final
from urllib.parse import urlsplit

from flask import Flask, Response, jsonify, make_response, redirect, render_template, request, url_for
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, InternalServerError, SecurityError
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import Conflict, DrillhallError, Invalid, NotAllowed, NotFound, Overtaken, TooMany, Unavailable
from drillhall.store.disk import find_disk_fault
from drillhall.web import refusals, session
from drillhall.web.faults import LOG, log_fault
from drillhall.web.forms import safe_next
from drillhall.words import say

STATUS: Final[tuple[tuple[type[DrillhallError], int], ...]] = (
    (NotFound, 404),
    (NotAllowed, 403),
    (Invalid, 422),
    (Conflict, 409),
    (TooMany, 429),
    (Unavailable, 503),
    (DrillhallError, 500),
)
"""The one table of statuses; the first class that fits counts."""

TITLES: Final = {
    400: say("The hall did not understand that"),
    403: say("That is not yours to do"),
    404: say("There is no such page here"),
    405: say("That page does not take this"),
    409: say("That does not go"),
    413: say("That is too large"),
    415: say("The hall cannot read that"),
    422: say("Something is to be mended"),
    429: say("That was tried too often"),
    500: say("Something in the hall went wrong"),
    503: say("The hall cannot do that just now"),
}

BUSY_SECONDS: Final = 5
"""So soon a busy database is likely free again."""

QUICKER: Final = say("Somebody was quicker")

SAFE: Final = {
    400: say("Nothing was changed."),
    403: say("Nothing was changed."),
    404: say("What is yours is where it was."),
    405: say("Nothing was changed."),
    409: say("What was there before stays as it is."),
    413: say("What you sent before is where it was."),
    415: say("Nothing was changed."),
    422: say("Nothing was changed."),
    429: say("Nothing is lost by waiting."),
    503: say("What was saved is safe, and what this device keeps for the hall is handed in later."),
}
"""What is not lost by it; with a fault of the program the sentence itself says so."""

ONCE_MORE: Final = frozenset({429, 500, 503})
"""What may go well the next time."""

SENTENCES: Final = {
    400: say("The request was broken on its way. Go back and send it once more."),
    404: say("Either it was never here, or it is not yours to see. Check the address."),
    405: say("Go back and use the button on the page."),
    413: say(
        "The hall takes 64 MB in one go at most, so nothing of this was kept. Go back and send fewer pictures at a time, or smaller ones."
    ),
    415: say("Send what the page asks for."),
    429: say("Wait a little, then try again."),
    503: say("It has more to do than it can. Try again in a moment."),
}


def init_app(app: Flask) -> None:
    """Hang the error pages in."""
    app.register_error_handler(DrillhallError, _refused)
    app.register_error_handler(session.SignInNeeded, _sign_in_needed)
    app.register_error_handler(CSRFError, _stale_form)
    app.register_error_handler(SecurityError, _unknown_host)
    app.register_error_handler(InternalServerError, _broken)
    app.register_error_handler(HTTPException, _by_number)


def status_of(error: DrillhallError) -> int:
    """Return the status that an error of ours answers with."""
    return next(status for kind, status in STATUS if isinstance(error, kind))


def wants_json() -> bool:
    """Whether whoever asks is a script of ours rather than a page."""
    best = request.accept_mimetypes.best_match(["text/html", "application/json"])
    return request.is_json or best == "application/json"


def error_page(status: int, sentence: str, *, title: str = "", field: str = "", mark: str = "", wait: int = 0) -> Response:
    """Return the page, or for a script the JSON, that says what is wrong, what is not lost, and the one next step.

    `wait` is how many seconds to wait before it, where that is known and the sentence does not say it.
    """
    if wants_json():
        response = jsonify(sentence=sentence, field=field)
    else:
        with suppress(DrillhallError):  # whoever asks is asked for here, so that a database that is away takes no page with it
            session.find_person()
        heading = title or TITLES.get(status, TITLES[400])
        told = {"sentence": sentence, "safe": SAFE.get(status, ""), "mark": mark, "wait": wait}
        page = render_template("error.html", title=heading, **told, onward=_onward(status), once_more=status in ONCE_MORE)
        response = make_response(page)
    response.status_code = status
    return response


def _refused(error: DrillhallError) -> Response:
    status = status_of(error)
    if status == 500:
        return _broken(InternalServerError(original_exception=error))
    refusals.note_error(error)
    title = QUICKER if isinstance(error, Overtaken) else ""
    # A title said once more says nothing; the usual sentence says what to do.
    sentence = SENTENCES[status] if error.sentence == f"{TITLES[status]}." else error.sentence
    wait = BUSY_SECONDS if isinstance(error, Unavailable) else 0
    response = error_page(status, sentence, title=title, field=getattr(error, "field", ""), wait=wait)
    if isinstance(error, TooMany):
        response.headers["Retry-After"] = str(error.wait_seconds)
        LOG.warning("too many tries: %s", request.endpoint)
    if wait:
        response.headers["Retry-After"] = str(wait)
        LOG.warning("unavailable: %s", request.endpoint)
    return response


def _onward(status: int) -> str:
    """Return where the one next step leads: the same page again, the page that the form was on, or "" for Today or the door."""
    if status in ONCE_MORE and request.method == "GET":
        return safe_next(request.full_path.rstrip("?"))
    try:
        came_from = urlsplit(request.referrer or "")
    except ValueError:  # brackets of an IPv6 address without one within: whatever sends that wants nothing back
        came_from = urlsplit("")
    back = came_from._replace(scheme="", netloc="", fragment="").geturl() if came_from.netloc == request.host else ""
    return safe_next(back) if back != request.full_path.rstrip("?") and status not in {403, 404} else ""


def _sign_in_needed(_error: session.SignInNeeded) -> BaseResponse:
    if wants_json():
        return error_page(401, say("Sign in again; what you have done so far is kept on this device."))
    # Only a page can be gone back to; what a form would have done is not done later by itself.
    wanted = safe_next(request.full_path.rstrip("?")) if request.method == "GET" else "/"
    return redirect(url_for("account.sign_in", next=wanted if wanted != "/" else None), code=303)


def _stale_form(_error: CSRFError) -> Response:
    refusals.note_form()
    return error_page(400, say("This page was open so long, or came from so far, that the hall no longer knows its form. Open it again."))


def _unknown_host(_error: SecurityError) -> Response:
    refusals.note(refusals.NO_HOST)
    # No address can be made for a host that is not ours, so this page is bare.
    return Response("This hall does not answer to that name. Ask its keeper for its address.\n", 400, mimetype="text/plain")


def _by_number(error: HTTPException) -> BaseResponse:
    status = error.code or 500
    if status < 400:
        return error.get_response()
    if status == 413:
        refusals.note(refusals.TOO_LARGE)
    response = error_page(status, SENTENCES.get(status, SENTENCES[400]))
    for name, value in error.get_headers():
        if name in {"Allow", "Retry-After"}:
            response.headers[name] = value
    return response


def _broken(error: InternalServerError) -> Response:
    if fault := find_disk_fault(error.original_exception):  # of a file beside the database: an upload, say
        return _refused(fault)
    mark = secrets.token_hex(3)
    cause = error.original_exception
    log_fault(mark, request.endpoint, cause)
    return error_page(
        500,
        say("That is the hall's fault, not yours. What was saved is safe. Try once more; if it stays, tell the keeper the mark below."),
        mark=mark,
    )
