"""What a sitter is shown: her tests, a question, what she has said so far, and the picture before her."""

from __future__ import annotations

from typing import Final

from flask import make_response, redirect, render_template, url_for
from werkzeug.wrappers import Response as BaseResponse

from drillhall.pictures import serving
from drillhall.practice.field_tests import pages
from drillhall.practice.field_tests.results import own_results
from drillhall.web.session import now, storage, store, the_person
from drillhall.web.sittings.room import Page, blueprint

HELD_OUT_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Content-Disposition": "inline",
    "Cross-Origin-Resource-Policy": "same-origin",
    # It is seen in a sitting alone, so no browser keeps it.
    "Cache-Control": "no-store",
}


@blueprint.get("/field-tests")
def tests() -> Page:
    """List the field tests of somebody's groups."""
    with store().look() as db:
        listed = pages.list_for_her(db, the_person().id, at=now())
    return render_template("sittings/tests.html", tests=listed)


@blueprint.get("/field-tests/<int:test_id>")
def test(test_id: int) -> Page:
    """Say what a test is like before it is begun, and what it came to once its results are released."""
    with store().look() as db:
        shown = pages.the_test_for_her(db, the_person().id, test_id, at=now())
        results = own_results(db, the_person().id, test_id, at=now())
    return render_template("sittings/test.html", test=shown, results=results)


@blueprint.get("/sittings/<sitting_id>")
def sitting(sitting_id: str) -> Page:
    """Show what somebody has said so far, to be looked over and handed in; or that the clock is stopped, or that it is over."""
    with store().look() as db:
        state, lines = pages.the_said(db, the_person().id, sitting_id, at=now())
    return render_template("sittings/sitting.html", state=state, lines=lines)


@blueprint.get("/sittings/<sitting_id>/<int:place>")
def question(sitting_id: str, place: int) -> Page:
    """Ask one question; where it is not to be asked now, go to the page that says why."""
    with store().look() as db:
        asked = pages.the_question(db, the_person().id, sitting_id, place, at=now())
    if asked is None:
        return redirect(url_for("sittings.sitting", sitting_id=sitting_id), code=303)
    return render_template("sittings/question.html", asked=asked, state=asked.sitting, wrong=None)


@blueprint.get("/sittings/<sitting_id>/<int:place>/<int:width_px>")
def picture(sitting_id: str, place: int, width_px: int) -> BaseResponse:
    """Send the picture that a sitter has before her."""
    with store().look() as db:
        public_id, size = pages.the_picture_shown(db, the_person().id, sitting_id, place, width_px, at=now())
        served = serving.the_held_out_file(db, storage(), public_id=public_id, recipe=size.recipe, on=now().date())
    response = make_response(served.content)
    response.content_type = served.media_type
    response.headers.update(HELD_OUT_HEADERS)
    return response
