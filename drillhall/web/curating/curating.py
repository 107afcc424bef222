"""What there is to do about a catalogue's pictures, with counts."""

from __future__ import annotations

from flask import render_template

from drillhall.catalogues.credited import list_credited
from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.catalogues.wanted import list_wanted
from drillhall.pictures.curated import count_open_offers
from drillhall.pictures.twins import find_twins
from drillhall.practice.doubts import list_doubts
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import store, the_person


@blueprint.get("/curating")
def curating(key: str) -> Page:
    """Name what there is to do about a catalogue's pictures."""
    me, on = the_person().id, her_day()
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        wanted, twins = list_wanted(db, catalogue.id, on=on), find_twins(db, catalogue.id, me, on=on)
        found = {"doubts": list_doubts(db, catalogue.id), "makers": list_credited(db, catalogue.id)}
        offered = count_open_offers(db, catalogue.id)
    return render_template("curating/curating.html", catalogue=catalogue, wanted=wanted, twins=twins, offered=offered, **found)
