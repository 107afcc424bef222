"""Pair sets that a group is given: giving one, how far the group is with it, and taking it back."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.errors import Conflict, Invalid
from drillhall.people.permissions import the_led_group
from drillhall.practice import assigning
from drillhall.practice.reader import names_for
from drillhall.practice.readiness import the_readiness
from drillhall.practice.shelf import list_sets
from drillhall.web import forms
from drillhall.web.groups.room import Page, blueprint, her_day, left_on_shelf
from drillhall.web.session import now, store, the_person
from drillhall.words import say


@blueprint.route("/<group_key>/assignments", methods=["GET", "POST"])
def assign(group_key: str) -> Page:
    """List what a group is given, and give it a pair set."""
    if request.method == "GET":
        return _page(group_key)
    try:
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            number = assigning.assign(db, group.id, _wanted(), by=the_person().id, today=her_day(), at=now())
    except Invalid as error:
        return _page(group_key, error), 422
    except Conflict as error:
        return _page(group_key, Invalid(error.sentence, field="pair_set"), refused=True), 409
    return redirect(url_for("groups.assignment", group_key=group_key, assignment_id=number), code=303)


@blueprint.get("/<group_key>/assignments/<int:assignment_id>")
def assignment(group_key: str, assignment_id: int) -> Page:
    """Show how far a group is with a pair set."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        shown = assigning.the_assignment(db, group.id, assignment_id)
        readiness = the_readiness(db, group.id, group.kind, shown, today=her_day(), reader=names_for(db, the_person().id))
    return render_template("groups/assignment.html", group=group, assignment=shown, readiness=readiness, today=her_day())


@blueprint.post("/<group_key>/assignments/<int:assignment_id>/end")
def end_assignment(group_key: str, assignment_id: int) -> Page:
    """Take an assignment back."""
    with store().work() as db:
        assigning.end_assignment(db, the_led_group(db, the_person(), group_key).id, assignment_id, at=now())
    return redirect(url_for("groups.assign", group_key=group_key), code=303)


def _wanted() -> assigning.Wanted:
    percent = forms.text("target_recall", most=10).strip()
    return assigning.Wanted(
        pair_set_id=forms.chosen("pair_set", say("The pair set")),
        from_day=forms.the_day("from_day", say("The first day")),
        for_day=forms.day("for_day", say("The day it is for")),
        target_recall=forms.whole("target_recall", say("How sure to be")) / 100 if percent else None,
    )


def _page(group_key: str, wrong: Invalid | None = None, *, refused: bool = False) -> str:
    set_id, me = _wanted().pair_set_id if refused else 0, the_person().id
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        listed = assigning.list_assignments(db, group.id, ended=True)
        sets = left_on_shelf(list_sets(db, me), [one for one in listed if not one.ended_at])
        lacking = assigning.list_lacking(db, group.id, set_id, viewer_id=me, on=her_day()) if set_id else ()
    told = {"lacking": lacking, "wrong": wrong, "today": her_day()}
    return render_template("groups/assign.html", group=group, assignments=listed, sets=sets, **told)
