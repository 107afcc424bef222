"""What is kept about whom in a group: to whoever learns in it of herself, to whoever leads it of all."""

from __future__ import annotations

from flask import render_template

from drillhall.people import roster_kept
from drillhall.people.permissions import the_group
from drillhall.web.session import store, the_person
from drillhall.web.teacher.room import Page, blueprint


@blueprint.get("/<group_key>/kept")
def kept(group_key: str) -> Page:
    """Say what is kept about whom in a group, and who sees it."""
    with store().look() as db:
        group = the_group(db, the_person(), group_key)
        told = roster_kept.list_kept(db, group, asks=the_person())
    return render_template("teacher/kept.html", group=group, kept=told)
