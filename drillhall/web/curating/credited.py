"""Who is credited how often: makers of a catalogue's pictures, to read and as a table to keep."""

from __future__ import annotations

import csv
from io import StringIO

from flask import Response, render_template

from drillhall.catalogues.credited import Credited, list_credited
from drillhall.catalogues.stewards import StewardedCatalogue, the_stewarded_catalogue
from drillhall.core.cells import no_formula
from drillhall.web.curating.room import Page, blueprint
from drillhall.web.session import store, the_person


@blueprint.get("/credited")
def credited(key: str) -> Page:
    """Show the makers of a catalogue's pictures."""
    catalogue, makers = _credited(key)
    return render_template("curating/credited.html", catalogue=catalogue, makers=makers)


@blueprint.get("/credited.csv")
def credited_csv(key: str) -> Page:
    """Give the makers as a table to keep."""
    catalogue, makers = _credited(key)
    text = StringIO()
    table = csv.writer(text)
    table.writerow(("maker", "licence", "licence address", "pictures", "times drilled"))
    table.writerows((*map(no_formula, (one.maker, one.licence, one.licence_url)), one.pictures, one.times) for one in makers)
    sent = Response("\ufeff" + text.getvalue(), mimetype="text/csv")
    sent.headers["Content-Disposition"] = f"attachment; filename={catalogue.key}-credited.csv"
    return sent


def _credited(key: str) -> tuple[StewardedCatalogue, tuple[Credited, ...]]:
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, the_person().id)
        return catalogue, list_credited(db, catalogue.id)
