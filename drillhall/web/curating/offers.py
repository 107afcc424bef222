"""What is offered to a catalogue: its stewards look, correct the label if need be, and accept or decline."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.acts.accept_offer import accept_offer
from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.core.values import Use
from drillhall.errors import Invalid
from drillhall.pictures import accepting, labels
from drillhall.web import forms
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person


@blueprint.get("/offers")
def offers(key: str) -> Page:
    """List the pictures that are offered to a catalogue."""
    return _page(key)


@blueprint.post("/offers/<int:offer_id>/accept")
def accept(key: str, offer_id: int) -> Page:
    """Take an offered picture into the catalogue, under its label or a corrected one."""
    try:
        said = _typed()
        with store().work() as db:
            catalogue = the_stewarded_catalogue(db, key, the_person().id)
            accept_offer(db, offer_id, said, catalogue_id=catalogue.id, by=the_person().id, on=her_day(), at=now())
    except Invalid as error:
        return _page(key, error, offer_id), 422
    return redirect(url_for("curating.offers", key=key, did="accepted"), code=303)


@blueprint.post("/offers/<int:offer_id>/decline")
def decline(key: str, offer_id: int) -> Page:
    """Decline an offered picture, with a word to its owner."""
    me = the_person().id
    try:
        note = forms.text("note")
        with store().work() as db:
            catalogue = the_stewarded_catalogue(db, key, me)
            accepting.decline(db, offer_id, catalogue_id=catalogue.id, by_id=me, note=note, at=now())
    except Invalid as error:
        return _page(key, error, offer_id), 422
    return redirect(url_for("curating.offers", key=key, did="declined"), code=303)


def _typed() -> accepting.Acceptance:
    chosen = forms.text("use", most=10)
    if chosen not in set(Use):
        raise Invalid("Choose what the picture is for.", field="use")
    form_id = forms.whole("form", "What it shows")
    return accepting.Acceptance(form_id, Use(chosen), forms.text("cluster", most=80), forms.text("note"))


def _page(key: str, wrong: Invalid | None = None, offer_id: int = 0) -> str:
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, the_person().id)
        offered = accepting.list_open_offers(db, catalogue.id, on=her_day())
        known = labels.list_forms(db, catalogue.id)
    did = request.args.get("did", "")
    return render_template(
        "curating/offers.html", catalogue=catalogue, offered=offered, known=known, wrong=wrong, wrong_id=offer_id, did=did
    )
