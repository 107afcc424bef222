"""The shortcut check: whether something other than the organism tells a pair's pictures apart."""

from __future__ import annotations

from flask import render_template

from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.pictures.looks import list_pairs, looks_of_pair, the_pair
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import storage, store, the_person


@blueprint.get("/shortcuts")
def shortcuts(key: str) -> Page:
    """List the pairs that can be checked."""
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, the_person().id)
        pairs = list_pairs(db, catalogue.id, on=her_day())
    return render_template("curating/shortcuts.html", catalogue=catalogue, pairs=pairs)


@blueprint.get("/shortcuts/<int:pair_id>")
def shortcut(key: str, pair_id: int) -> Page:
    """Measure the pictures of one pair, and say what gives its forms away."""
    me = the_person().id
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        pair = the_pair(db, catalogue.id, pair_id, on=her_day())
        looks = looks_of_pair(db, storage(), catalogue.id, me, pair.drilled, on=her_day())
    return render_template("curating/shortcut.html", catalogue=catalogue, pair=pair, looks=looks)
