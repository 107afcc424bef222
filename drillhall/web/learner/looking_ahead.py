"""What is ahead: the drills of coming weeks, and what will have faded by a day that one picks."""

from __future__ import annotations

from datetime import date

from flask import render_template, request

from drillhall.errors import Invalid
from drillhall.practice import looking_ahead
from drillhall.web.learner.room import blueprint
from drillhall.web.session import now, store, the_person
from drillhall.words import say


@blueprint.get("/standing/ahead")
def look_ahead() -> str | tuple[str, int]:
    """Show the coming weeks, and the pairs that will have faded by a day."""
    person = the_person()
    with store().look() as db:
        try:
            page = looking_ahead.look_ahead(db, person.id, by=_asked_day(), now=now())
        except Invalid as error:
            page = looking_ahead.look_ahead(db, person.id, by=None, now=now())
            return render_template("learner/look_ahead.html", page=page, wrong=error), 422
    return render_template("learner/look_ahead.html", page=page, wrong=None)


def _asked_day() -> date | None:
    asked = request.args.get("by", "").strip()
    if not asked:
        return None
    try:
        return date.fromisoformat(asked)
    except ValueError:
        raise Invalid(say("A day is written like 2031-05-17."), field="by") from None
