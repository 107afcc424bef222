"""Outings of a group: planning one, changing it, calling it off, and the sheet of its eve."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.errors import Invalid
from drillhall.people.permissions import the_led_group
from drillhall.practice import outings
from drillhall.practice.assigning import list_assignments
from drillhall.practice.eve_sheet import the_eve_sheet
from drillhall.practice.reader import names_for
from drillhall.practice.shelf import list_sets
from drillhall.web import forms
from drillhall.web.groups.room import Page, blueprint, her_day, left_on_shelf, read_purpose
from drillhall.web.session import now, store, the_person
from drillhall.words import say


@blueprint.route("/<group_key>/outings", methods=["GET", "POST"])
def outing_list(group_key: str) -> Page:
    """List a group's outings and plan one."""
    if request.method == "GET":
        return _page(group_key)
    try:
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            outings.plan_outing(db, group.id, _said(), by=the_person().id, today=her_day(), at=now())
    except Invalid as error:
        return _page(group_key, error), 422
    return redirect(url_for("groups.outing_list", group_key=group_key), code=303)


@blueprint.route("/<group_key>/outings/<int:outing_id>", methods=["GET", "POST"])
def outing(group_key: str, outing_id: int) -> Page:
    """Change an outing."""
    if request.method == "GET":
        return _one(group_key, outing_id)
    try:
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            outings.change_outing(db, group.id, outing_id, _said(), today=her_day(), at=now())
    except Invalid as error:
        return _one(group_key, outing_id, error), 422
    return redirect(url_for("groups.outing_list", group_key=group_key), code=303)


@blueprint.post("/<group_key>/outings/<int:outing_id>/off")
def call_off(group_key: str, outing_id: int) -> Page:
    """Call an outing off."""
    with store().work() as db:
        outings.call_off(db, the_led_group(db, the_person(), group_key).id, outing_id, at=now())
    return redirect(url_for("groups.outing_list", group_key=group_key), code=303)


@blueprint.get("/<group_key>/outings/<int:outing_id>/eve-sheet")
def eve_sheet(group_key: str, outing_id: int) -> Page:
    """Show the sheet of an outing's eve, to print."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        shown = outings.the_outing(db, group.id, outing_id)
        sheet = the_eve_sheet(db, group.id, group.kind, shown, today=her_day(), reader=names_for(db, the_person().id))
    return render_template("groups/eve_sheet.html", group=group, sheet=sheet)


def _said() -> outings.OutingSaid:
    assignment_id, pair_set_id = read_purpose(say("Choose what the outing prepares for."))
    return outings.OutingSaid(
        title=forms.text("title"),
        day=forms.the_day("day", say("The day")),
        place=forms.text("place"),
        assignment_id=assignment_id,
        pair_set_id=pair_set_id,
    )


def _page(group_key: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        listed = outings.list_outings(db, group.id)
        given = list_assignments(db, group.id)
        sets = left_on_shelf(list_sets(db, the_person().id), given)
    return render_template("groups/outings.html", group=group, outings=listed, assignments=given, sets=sets, wrong=wrong, today=her_day())


def _one(group_key: str, outing_id: int, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        shown = outings.the_outing(db, group.id, outing_id)
    return render_template("groups/outing.html", group=group, outing=shown, wrong=wrong)
