"""Numbers of one's own: fitted when asked for, taken or left, and put back."""

from __future__ import annotations

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response

from drillhall.errors import Invalid
from drillhall.practice import own_numbers
from drillhall.web.learner.room import blueprint
from drillhall.web.session import now, store, the_person


@blueprint.get("/standing/own-numbers")
def numbers() -> str:
    """Show what was offered, and how far an offer is."""
    return _page()


@blueprint.post("/standing/own-numbers")
def seek_numbers() -> Response | tuple[str, int]:
    """Ask for numbers fitted to the learner's own rounds; a worker fits them."""
    try:
        with store().work() as db:
            own_numbers.ask_for_offer(db, the_person().id, at=now())
    except Invalid as error:
        return _page(error), 422
    return redirect(url_for("learner.numbers"), code=303)


@blueprint.post("/standing/own-numbers/<int:set_id>/take")
def take_numbers(set_id: int) -> Response:
    """Take numbers that were offered."""
    person = the_person()
    with store().work() as db:
        own_numbers.take_set(db, person.id, set_id, at=now())
    return redirect(url_for("learner.numbers"), code=303)


@blueprint.post("/standing/own-numbers/back")
def usual_numbers() -> Response:
    """Go back to the usual numbers."""
    person = the_person()
    with store().work() as db:
        own_numbers.go_back(db, person.id, at=now())
    return redirect(url_for("learner.numbers"), code=303)


def _page(wrong: Invalid | None = None) -> str:
    with store().look() as db:
        page = own_numbers.the_numbers(db, the_person().id, now=now())
    return render_template("learner/numbers.html", page=page, wrong=wrong)
