"""Disputed pictures: what sure learners say against a label, and what its steward decides."""

from __future__ import annotations

from typing import Final

from flask import redirect, render_template, url_for

from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.core.doubt import LEAST_LEARNERS
from drillhall.pictures import curated
from drillhall.practice.doubts import list_doubts
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person

SHOWN: Final = 20


@blueprint.get("/doubts")
def doubts(key: str) -> Page:
    """Show the pictures whose label sure learners doubt."""
    me, on = the_person().id, her_day()
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        found = list_doubts(db, catalogue.id)
        pictures = curated.curated_pictures(db, catalogue.id, me, [doubt.picture_id for doubt in found[:SHOWN]], on=on)
        names = curated.form_names(db, {form_id for doubt in found[:SHOWN] for form_id in doubt.forms})
    shown = [(doubt, pictures[doubt.picture_id]) for doubt in found[:SHOWN] if doubt.picture_id in pictures]
    return render_template("curating/doubts.html", catalogue=catalogue, doubts=shown, of=len(found), names=names, least=LEAST_LEARNERS)


@blueprint.post("/doubts/<public_id>/right")
def label_right(key: str, public_id: str) -> Page:
    """Note that a steward has looked and found the label right."""
    me = the_person().id
    with store().work() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        curated.mark_checked(db, catalogue.id, me, public_id, on=her_day(), at=now())
    return redirect(url_for("curating.doubts", key=key, did="right"), code=303)
