"""The credits of a pair set: who made its pictures, and under which licence each comes."""

from __future__ import annotations

from flask import render_template

from drillhall.practice.crediting import credits_of_set
from drillhall.web import forms
from drillhall.web.pictures.room import blueprint, her_day
from drillhall.web.session import store, the_person


@blueprint.get("/pair-sets/<int:pair_set_id>/credits")
def credits(pair_set_id: int) -> str:  # noqa: A001 - the page is the credits
    """Show who made the pictures of a pair set, to be read, printed and read by machines; in pages where there are very many."""
    page = min(max(forms.asked_id("page") or 0, 0), 10_000)
    with store().look() as db:
        credited = credits_of_set(db, the_person().id, pair_set_id, on=her_day(), page=page)
    return render_template("pictures/credits.html", credited=credited)
