"""Today, where I stand, the pairs and the shelf."""

from __future__ import annotations

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response

from drillhall.practice import explaining, first_steps, in_words, joined, reviewing
from drillhall.practice import shelf as shelving
from drillhall.practice.field_tests.pages import list_awaiting_her
from drillhall.practice.today import judged_anew_lately, the_today
from drillhall.web.learner.room import blueprint
from drillhall.web.session import now, store, the_person


@blueprint.get("/")
def today() -> str:
    """Show today's drill and why, in pictures or in words, and the one big action; what waits; and the first steps."""
    person = the_person()
    with store().look() as db:
        page = the_today(db, person.id, now=now())
        tests, joins = list_awaiting_her(db, person.id, at=now()), joined.list_notices(db, person.id)
        paths = first_steps.list_paths(db, person.id)
        words = in_words.the_words(db, person.id, now=now()) if person.preferences.in_words else None
    return render_template("learner/today.html", page=page, tests=tests, paths=paths, words=words, joins=joins)


@blueprint.post("/first-steps/<path>/put-away")
def put_away(path: str) -> Response:
    """Put a list of first steps away, until it is brought back."""
    with store().work() as db:
        first_steps.put_away(db, the_person().id, path)
    return redirect(url_for("learner.today"), code=303)


@blueprint.post("/first-steps/bring-back")
def bring_back() -> Response:
    """Let the first steps that were put away stand on Today again."""
    with store().work() as db:
        first_steps.bring_back(db, the_person().id)
    return redirect(url_for("learner.today"), code=303)


@blueprint.post("/joined/<int:join_id>/put-away")
def put_join_away(join_id: int) -> Response:
    """Tell no more that two concepts have become one."""
    with store().work() as db:
        joined.put_away(db, the_person().id, join_id, at=now())
    return redirect(url_for("learner.today"), code=303)


@blueprint.get("/standing")
def standing() -> str:
    """Show where the learner stands, pair by pair."""
    person = the_person()
    with store().look() as db:
        page, anew = reviewing.the_standing(db, person.id, now=now()), judged_anew_lately(db, person.id, now=now())
        joins = joined.list_notices(db, person.id)
    return render_template("learner/standing.html", page=page, anew=anew, joins=joins)


@blueprint.get("/pairs/<int:pair_id>")
def meet(pair_id: int) -> str:
    """Show a pair: its forms side by side, what decides and what misleads."""
    person = the_person()
    with store().look() as db:
        meeting = explaining.the_meeting(db, person.id, pair_id, now=now())
    return render_template("learner/meet.html", meeting=meeting, next_url="", pictures=None)


@blueprint.get("/shelf")
def shelf() -> str:
    """Show the pair sets of this hall."""
    person = the_person()
    with store().look() as db:
        sets = shelving.list_sets(db, person.id)
    return render_template("learner/shelf.html", sets=sets)


@blueprint.post("/shelf/<int:pair_set_id>/take")
def take(pair_set_id: int) -> Response:
    """Take a pair set from the shelf and go to today's drill."""
    person = the_person()
    with store().work() as db:
        shelving.take_set(db, person.id, pair_set_id, at=now())
    return redirect(url_for("learner.today"), code=303)


@blueprint.post("/shelf/<int:pair_set_id>/put-back")
def put_back(pair_set_id: int) -> Response:
    """Put a pair set back on the shelf."""
    person = the_person()
    with store().work() as db:
        shelving.put_back_set(db, person.id, pair_set_id)
    return redirect(url_for("learner.shelf"), code=303)
