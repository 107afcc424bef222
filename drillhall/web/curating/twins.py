"""Pictures that are nearly the same, side by side: one scene, different ones, or one too many."""

from __future__ import annotations

from typing import Final

from flask import redirect, render_template, request, url_for

from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.errors import Invalid
from drillhall.people import audit
from drillhall.pictures import curated
from drillhall.pictures.twins import find_twins, join_twins, keep_apart
from drillhall.web import forms
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person

SHOWN: Final = 20
"""So many groups stand on the page at once; the rest come up as these are done."""


@blueprint.get("/twins")
def twins(key: str) -> Page:
    """Show the pictures that are nearly the same."""
    return _page(key)


@blueprint.post("/twins/one-scene")
def one_scene(key: str) -> Page:
    """Say that some pictures are of one scene."""
    me = the_person().id
    try:
        with store().work() as db:
            catalogue = the_stewarded_catalogue(db, key, me)
            join_twins(db, catalogue.id, me, request.form.getlist("picture"), use=forms.text("use"), on=her_day())
    except Invalid as error:
        return _page(key, error), 422
    return redirect(url_for("curating.twins", key=key, did="joined"), code=303)


@blueprint.post("/twins/different")
def different(key: str) -> Page:
    """Say that pictures which look alike are of different scenes."""
    me = the_person().id
    try:
        with store().work() as db:
            catalogue = the_stewarded_catalogue(db, key, me)
            keep_apart(db, catalogue.id, me, request.form.getlist("picture"), on=her_day(), at=now())
    except Invalid as error:
        return _page(key, error), 422
    return redirect(url_for("curating.twins", key=key, did="apart"), code=303)


@blueprint.post("/pictures/<public_id>/take-out")
def take_out(key: str, public_id: str) -> Page:
    """Take a picture out of the catalogue, and go back to the list where that was asked."""
    me = the_person().id
    with store().work() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        curated.take_out(db, catalogue.id, me, public_id, on=her_day(), at=now())
        audit.note(db, "picture taken out", at=now(), by=me, subject=f"picture {public_id}, catalogue {catalogue.id}")
    back = "curating.doubts" if forms.text("back") == "doubts" else "curating.twins"
    return redirect(url_for(back, key=key, did="out"), code=303)


def _page(key: str, wrong: Invalid | None = None) -> str:
    me, on = the_person().id, her_day()
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        found = find_twins(db, catalogue.id, me, on=on)
        ids = [id_ for group in found[:SHOWN] for id_ in group.ids[: curated.MOST_NAMED]]
        pictures = curated.curated_pictures(db, catalogue.id, me, ids, on=on)
    groups = [(group, [pictures[id_] for id_ in group.ids if id_ in pictures]) for group in found[:SHOWN]]
    return render_template("curating/twins.html", catalogue=catalogue, groups=groups, of=len(found), wrong=wrong)
