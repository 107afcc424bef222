"""Copying a pair set of others, for whoever was sent its link."""

from __future__ import annotations

from flask import redirect, url_for

from drillhall.catalogues.copying import copy_into_own
from drillhall.web.catalogue.room import Page, blueprint
from drillhall.web.session import now, store, the_person


@blueprint.post("/shared-sets/<int:pair_set_id>/copy")
def copy_shared_set(pair_set_id: int) -> Page:
    """Copy a pair set into a new catalogue of one's own, and go on to it."""
    with store().work() as db:
        key = copy_into_own(db, pair_set_id, by=the_person().id, at=now())
    return redirect(url_for("catalogue.catalogue", key=key), code=303)
