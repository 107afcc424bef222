"""What a sitter does: begins, answers, stops the clock and lets it run again, hands in."""

from __future__ import annotations

from uuid import UUID

from flask import redirect, render_template, url_for

from drillhall.errors import BadAnswer
from drillhall.practice.field_tests import pages, sitting
from drillhall.web import forms
from drillhall.web.session import dice, now, store, the_person
from drillhall.web.sittings.room import Page, blueprint


@blueprint.post("/field-tests/<int:test_id>/begin")
def begin(test_id: int) -> Page:
    """Begin to sit a test, or go on with the sitting that runs."""
    new_id = str(UUID(int=dice().getrandbits(128), version=4))
    with store().work() as db:
        sitting_id = sitting.begin_sitting(db, the_person().id, test_id, sitting_id=new_id, at=now(), dice=dice())
        place = pages.the_state(db, the_person().id, sitting_id, at=now()).place_now
    return _on(sitting_id, place)


@blueprint.post("/sittings/<sitting_id>/<int:place>")
def answer(sitting_id: str, place: int) -> Page:
    """Keep what is said of a question, or leave it open, and go on to the next."""
    try:
        with store().work() as db:
            following = sitting.answer(db, the_person().id, sitting_id, place, forms.text("said", most=20), at=now())
    except BadAnswer as wrong:
        with store().look() as db:
            asked = pages.the_question(db, the_person().id, sitting_id, place, at=now())
        if asked is None:
            return _on(sitting_id, None)
        return render_template("sittings/question.html", asked=asked, state=asked.sitting, wrong=wrong), 422
    return _on(sitting_id, following)


@blueprint.post("/sittings/<sitting_id>/pause")
def pause(sitting_id: str) -> Page:
    """Stop the clock."""
    with store().work() as db:
        sitting.pause(db, the_person().id, sitting_id, at=now())
    return _on(sitting_id, None)


@blueprint.post("/sittings/<sitting_id>/go-on")
def go_on(sitting_id: str) -> Page:
    """Let the clock run again."""
    with store().work() as db:
        sitting.go_on(db, the_person().id, sitting_id, at=now())
        place = pages.the_state(db, the_person().id, sitting_id, at=now()).place_now
    return _on(sitting_id, place)


@blueprint.post("/sittings/<sitting_id>/hand-in")
def hand_in(sitting_id: str) -> Page:
    """Hand a sitting in."""
    with store().work() as db:
        sitting.hand_in(db, the_person().id, sitting_id, at=now())
    return _on(sitting_id, None)


def _on(sitting_id: str, place: int | None) -> Page:
    if place is None:
        return redirect(url_for("sittings.sitting", sitting_id=sitting_id), code=303)
    return redirect(url_for("sittings.question", sitting_id=sitting_id, place=place), code=303)
