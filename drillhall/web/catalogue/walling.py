"""A pair set as it looks on the wall, for the steward who writes it."""

from __future__ import annotations

from flask import url_for

from drillhall.practice.walling import Audience, on_the_wall, the_set_called
from drillhall.web.catalogue.room import Page, blueprint, her_day, look
from drillhall.web.session import store, the_person
from drillhall.web.wall import read_asked, render_wall


@blueprint.get("/<key>/sets/<set_key>/wall")
def wall(key: str, set_key: str) -> Page:
    """Show one picture of a set as a room would see it, and its answer."""
    opened, asked, viewer_id = look(key), read_asked(), the_person().id
    with store().look() as db:
        set_id = the_set_called(db, opened.id, set_key)
        shown = on_the_wall(
            db, set_id, Audience(), throw=asked.throw, place=asked.place, told=asked.told, viewer_id=viewer_id, on=her_day()
        )
    out = url_for("catalogue.pair_set", key=key, set_key=set_key)
    return render_wall(shown, asked, "catalogue.wall", out, key=key, set_key=set_key)
