"""Work it out: mark what was seen of an organism, trait by trait, and read which form of a pair set it may be."""

from __future__ import annotations

from flask import render_template, request

from drillhall.errors import Invalid
from drillhall.practice import working_out
from drillhall.web.learner.room import blueprint
from drillhall.web.numbers import read_number
from drillhall.web.session import now, store, the_person

EVENLY = "evenly"
TAKEN = "measured"


@blueprint.get("/work-it-out")
def work_out() -> str:
    """List the pair sets by which an organism can be worked out."""
    person = the_person()
    with store().look() as db:
        sets = working_out.list_sets_to_read(db, person.id, now=now())
    return render_template("learner/work_out.html", sets=sets)


@blueprint.get("/work-it-out/<int:pair_set_id>")
def work_out_set(pair_set_id: int) -> str | tuple[str, int]:
    """Show a set's traits, the most telling first, and how likely each form is after what was marked and measured."""
    person, evenly = the_person(), EVENLY in request.args
    said = {name.removeprefix("seen."): word[:200] for name, word in request.args.items() if name.startswith("seen.")}
    with store().look() as db:
        try:
            page = working_out.work_out(db, person.id, pair_set_id, said, measured=_measured(), evenly=evenly, now=now())
        except Invalid as error:
            page = working_out.work_out(db, person.id, pair_set_id, {}, evenly=evenly, now=now())
            return render_template("learner/work_out_set.html", page=page, wrong=error), 422
    return render_template("learner/work_out_set.html", page=page, wrong=None)


def _measured() -> dict[str, float]:
    """Return what was typed into the fields for measures, by trait; an empty one was not measured."""
    given = {name: value[:40] for name, value in request.args.items() if name.startswith(f"{TAKEN}.") and value.strip()}
    return {name.removeprefix(f"{TAKEN}."): read_number(value, name) for name, value in given.items()}
