"""The wanted list: what pictures a catalogue lacks, to read and to print for those who go out and take them."""

from __future__ import annotations

from flask import render_template

from drillhall.catalogues.wanted import list_wanted, the_catalogue_within_sight
from drillhall.core.cautions import cautions, fixed_banner
from drillhall.core.term_words import POSES, SEEN_FROM, SETTINGS
from drillhall.people.permissions import is_steward
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import store, the_person


@blueprint.get("/wanted")
def wanted(key: str) -> Page:
    """Show what is wanted, to the stewards of the catalogue and to those who have taken one of its sets."""
    with store().look() as db:
        catalogue = the_catalogue_within_sight(db, key, the_person().id)
        listed = list_wanted(db, catalogue.id, on=her_day())
        writes = is_steward(db, the_person(), catalogue.id)
    told = {"cautions": cautions(catalogue.subject, "print"), "banner": fixed_banner(catalogue.subject)}
    words = {"seen_from": SEEN_FROM, "poses": POSES, "settings_seen": SETTINGS}
    return render_template("curating/wanted.html", catalogue=catalogue, wanted=listed, is_steward=writes, **told, **words)
