"""What a visitor sees of an open question: today's picture, the answer once it is given, and the days before."""

from __future__ import annotations

from typing import Final

from flask import current_app, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import limits
from drillhall.pictures import serving
from drillhall.practice.open_questions import asking, keeping
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.web import forms
from drillhall.web.open_questions.room import Page, blueprint, find_said, has_answered, note_answered, read_day, seal_said
from drillhall.web.session import now, storage, store
from drillhall.words import say

OPEN_PICTURE_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Content-Disposition": "inline",
    # It may stand in somebody's own mailing or page: that is what the block to copy is for.
    "Cross-Origin-Resource-Policy": "cross-origin",
}


@blueprint.get("/open/<public_id>")
def question(public_id: str) -> Page:
    """Ask what today's picture shows."""
    return _ask(public_id)


@blueprint.post("/open/<public_id>")
def answer(public_id: str) -> Page:
    """Count an answer, unless this browser has been counted today, and go on to what it shows."""
    _spend_try()
    try:
        said_text, picture = forms.text("said", most=20), forms.text("picture", most=36)
        with store().work() as db:
            found, shown = asking.open_today(db, public_id, at=now())
            said = asking.check_said(shown, said_text)
            if not has_answered(found):
                asking.count_answer(db, shown, found, said, picture=picture)
    except (Invalid, Conflict) as wrong:
        return _ask(public_id, wrong), 409 if isinstance(wrong, Conflict) else 422
    sealed = seal_said(found, shown, said)
    response = redirect(url_for("open.told", public_id=public_id, day=shown.day.isoformat(), said=sealed), code=303)
    note_answered(response, found, url_for("open.question", public_id=public_id), at=now())
    return response


@blueprint.get("/open/<public_id>/<day>")
def told(public_id: str, day: str) -> Page:
    """Tell what a day's picture shows and how the answers fell; today's only to whoever has just answered it."""
    with store().look() as db:
        found = keeping.the_question(db, public_id, at=now())
        shown = asking.the_day(db, asking.the_stock(db, found), read_day(day, found))
        said = find_said(found, shown)
        fell = asking.how_the_day_fell(db, shown, found)
    if shown.day == found.today and said is None:
        return redirect(url_for("open.question", public_id=public_id), code=303)
    response = make_response(render_template("open/told.html", question=found, shown=shown, said=said, fell=fell))
    response.headers["Content-Security-Policy"] = _framed_by(found)
    return response


@blueprint.get("/open/<public_id>/<day>/<recipe>")
def picture(public_id: str, day: str, recipe: str) -> BaseResponse:
    """Send one size of the picture of today or of a day before."""
    with store().look() as db:
        found = keeping.the_question(db, public_id, at=now())
        shown = asking.the_day(db, asking.the_stock(db, found), read_day(day, found)).picture
        if recipe not in {size.recipe for size in shown.sizes}:
            raise NotFound(say("There is no such picture, or it is not yours to see."))
        served = serving.the_open_file(db, storage(), public_id=shown.public_id, recipe=recipe, on=found.today)
    response = make_response(served.content)
    response.content_type = served.media_type
    response.headers.update(OPEN_PICTURE_HEADERS)
    response.headers["Cache-Control"] = f"public, max-age={served.cacheable_seconds}"
    return response


def _ask(public_id: str, wrong: Invalid | Conflict | None = None) -> str:
    with store().look() as db:
        found, shown = asking.open_today(db, public_id, at=now())
    return render_template("open/question.html", question=found, shown=shown, wrong=wrong)


def _spend_try() -> None:
    place = limits.veiled_place(limits.OPEN_ANSWER, request.remote_addr, key=str(current_app.secret_key), at=now())
    with store().work() as db:
        limits.spend_try(db, limits.OPEN_ANSWER, place, at=now())


def _framed_by(found: OpenQuestion) -> str:
    """Return the usual policy, but for who may frame the page: the sites that the leader named."""
    usual = str(current_app.config["CSP"])
    return usual.replace("frame-ancestors 'none'", f"frame-ancestors {' '.join(found.sites)}") if found.sites else usual
