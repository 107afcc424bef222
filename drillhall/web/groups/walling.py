"""The wall of a group's room: which pair set to put on it, and the set, picture by picture."""

from __future__ import annotations

from flask import render_template, url_for

from drillhall.people.permissions import the_led_group
from drillhall.practice.shelf import list_sets
from drillhall.practice.walling import Audience, on_the_wall
from drillhall.web.groups.room import Page, blueprint, her_day
from drillhall.web.session import store, the_person
from drillhall.web.wall import read_asked, render_wall


@blueprint.get("/<group_key>/wall")
def walls(group_key: str) -> Page:
    """List the pair sets that may be put on the wall."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        sets = list_sets(db, the_person().id)
    return render_template("groups/walls.html", group=group, sets=sets)


@blueprint.get("/<group_key>/wall/<int:set_id>")
def wall(group_key: str, set_id: int) -> Page:
    """Show one picture of a set to the room, and its answer when the leader says so."""
    person, asked = the_person(), read_asked()
    with store().look() as db:
        group = the_led_group(db, person, group_key)
        audience = Audience(group_id=group.id, is_paid=group.is_paid)
        shown = on_the_wall(db, set_id, audience, throw=asked.throw, place=asked.place, told=asked.told, viewer_id=person.id, on=her_day())
    out = url_for("groups.walls", group_key=group_key)
    return render_wall(shown, asked, "groups.wall", out, group_key=group_key, set_id=set_id)
