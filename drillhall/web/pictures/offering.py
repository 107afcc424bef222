"""Offering one's own picture to a catalogue, and taking it back."""

from __future__ import annotations

from flask import redirect, url_for

from drillhall.errors import Invalid
from drillhall.pictures import offers
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.pictures.sharing import sharing_page
from drillhall.web.session import now, store, the_person


@blueprint.post("/my-pictures/<public_id>/offers")
def offer(public_id: str) -> Page:
    """Offer one's own picture to a catalogue."""
    me = the_person().id
    try:
        catalogue_id = forms.whole("catalogue", "The catalogue")
        with store().work() as db:
            offers.offer_picture(db, owner_id=me, public_id=public_id, catalogue_id=catalogue_id, on=her_day(), at=now())
    except Invalid as error:
        return sharing_page(public_id, error), 422
    return redirect(url_for("pictures.sharing", public_id=public_id, did="offered"), code=303)


@blueprint.post("/my-pictures/<public_id>/offers/<int:offer_id>/take-back")
def take_back(public_id: str, offer_id: int) -> Page:
    """Take back an offer, or withdraw from a catalogue what it has accepted."""
    with store().work() as db:
        offers.take_back(db, offer_id, owner_id=the_person().id, public_id=public_id, at=now())
    return redirect(url_for("pictures.sharing", public_id=public_id, did="back"), code=303)
