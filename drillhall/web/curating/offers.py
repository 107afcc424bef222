"""What is offered to a catalogue: its stewards look, correct the label if need be, and accept or decline."""

from __future__ import annotations

from collections.abc import Mapping

from flask import redirect, render_template, request, url_for

from drillhall.acts.accept_offer import accept_offer
from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.core.values import Use
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import audit
from drillhall.pictures import accepting, labels
from drillhall.pictures.sharing import MOST_AT_ONCE
from drillhall.web import forms
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person
from drillhall.words import say


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
        return _page(key, {offer_id: error.sentence}, offer_id), 422
    return redirect(url_for("curating.offers", key=key, did="accepted"), code=303)


@blueprint.post("/offers/accept")
def accept_many(key: str) -> Page:
    """Take the ticked pictures into the catalogue, each as what its owner says it shows; say of each that may not be why."""
    chosen = _ticked()
    with store().look() as db:
        catalogue_id = the_stewarded_catalogue(db, key, the_person().id).id
    if not chosen:
        return _page(key, {0: say("Tick the pictures to accept first.")}), 422
    refused = {offer_id: why for offer_id in chosen if (why := _accept_as_it_stands(catalogue_id, offer_id))}
    if refused:
        told = say(
            "{accepted} of {all} accepted. Why the rest was not stands beside each that is still offered.",
            accepted=len(chosen) - len(refused),
            all=len(chosen),
        )
        return _page(key, {0: told, **refused}), 422
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
            audit.note(db, "picture declined", at=now(), by=me, subject=f"offer {offer_id}, catalogue {catalogue.id}")
    except Invalid as error:
        return _page(key, {offer_id: error.sentence}, offer_id), 422
    return redirect(url_for("curating.offers", key=key, did="declined"), code=303)


def _ticked() -> tuple[int, ...]:
    typed = [one for one in request.form.getlist("offer")[:MOST_AT_ONCE] if one.isascii() and one.isdigit() and len(one) < 16]
    return tuple(dict.fromkeys(int(one) for one in typed))


def _accept_as_it_stands(catalogue_id: int, offer_id: int) -> str:
    """Accept one of many by itself, so that one that may not be keeps no other back; return why not, or nothing."""
    me, chosen = the_person().id, forms.text("use", most=10)
    try:
        with store().work() as db:
            accepting.the_offered_picture(db, offer_id, catalogue_id=catalogue_id)
            said = accepting.as_it_stands(db, offer_id, use=Use(chosen) if chosen in set(Use) else None)
            accept_offer(db, offer_id, said, catalogue_id=catalogue_id, by=me, on=her_day(), at=now())
    except (Conflict, Invalid, NotFound) as error:  # it may have been answered or taken back since the page was read
        return error.sentence
    return ""


def _typed() -> accepting.Acceptance:
    chosen = forms.text("use", most=10)
    if chosen not in set(Use):
        raise Invalid(say("Choose what the picture is for."), field="use")
    form_id = forms.chosen("form", say("What it shows"))
    return accepting.Acceptance(form_id, Use(chosen), forms.text("cluster", most=80), forms.text("note"))


def _page(key: str, wrong: Mapping[int, str] | None = None, offer_id: int = 0) -> str:
    """Return the page with what was wrong by offer, 0 for all; `offer_id` is the one whose form stays open."""
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, the_person().id)
        offered = accepting.list_open_offers(db, catalogue.id, on=her_day())
        known = labels.list_forms(db, catalogue.id)
    did = request.args.get("did", "")
    return render_template(
        "curating/offers.html", catalogue=catalogue, offered=offered, known=known, wrong=wrong or {}, wrong_id=offer_id, did=did
    )
