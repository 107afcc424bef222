"""Numbers of one's own: fitted when asked for, taken or left, and put back."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for
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
    """Fit to the learner's own rounds, and keep what comes of it as an offer."""
    person = the_person()
    try:
        with store().look() as db:
            offer = own_numbers.seek_offer(db, person.id)
    except Invalid as error:
        return _page(error), 422
    if offer is not None:
        with store().work() as db:
            own_numbers.keep_offer(db, person.id, offer, at=now())
    return redirect(url_for("learner.numbers", sought="yes" if offer else "no"), code=303)


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
        page = own_numbers.the_numbers(db, the_person().id)
    return render_template("learner/numbers.html", page=page, wrong=wrong, sought=request.args.get("sought", ""))
