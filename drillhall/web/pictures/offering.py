"""Offering one's own pictures to catalogues, one or many at once, and taking them back."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flask import redirect, render_template, request, url_for

from drillhall.acts.accept_offer import offer_picture
from drillhall.errors import AlreadyDone, Invalid, NotFound
from drillhall.pictures import offers
from drillhall.pictures import sharing as shares
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.pictures.sharing import sharing_page
from drillhall.web.session import now, storage, store, the_person
from drillhall.words import say


@blueprint.post("/my-pictures/<public_id>/offers")
def offer(public_id: str) -> Page:
    """Offer one's own picture to a catalogue."""
    try:
        put = _offer(public_id, forms.chosen("catalogue", say("The catalogue")))
    except Invalid as error:
        return sharing_page(public_id, error), 422
    return redirect(url_for("pictures.sharing", public_id=public_id, did="put" if put else "offered"), code=303)


@blueprint.post("/my-pictures/offers")
def offer_many() -> Page:
    """Offer the ticked pictures to a catalogue; where some may not be, say which and why, and what would mend it."""
    try:
        wanted = shares.check_many(request.form.getlist("picture"))
        catalogue_id = forms.chosen("catalogue", say("The catalogue")) if forms.text("catalogue", most=20) else 0
        if not catalogue_id:
            raise Invalid(say("Choose the catalogue."), field="catalogue")
    except Invalid as error:
        return render_template("pictures/offered.html", catalogue=None, told=None, wrong=error), 422
    with store().look() as db:
        catalogue = offers.the_target(db, the_person().id, catalogue_id)
    told = _offer_each(wanted, catalogue_id)
    if told.refused:
        return render_template("pictures/offered.html", catalogue=catalogue, told=told, wrong=None), 422
    counts: dict[str, Any] = {"put": told.put or None, "offered": told.offered or None, "already": told.already or None}
    return redirect(url_for("pictures.my_pictures", into=catalogue.key if catalogue.is_hers else None, **counts), code=303)


@blueprint.post("/my-pictures/<public_id>/offers/<int:offer_id>/take-back")
def take_back(public_id: str, offer_id: int) -> Page:
    """Take back an offer, or withdraw from a catalogue what it has accepted."""
    with store().work() as db:
        offers.take_back(db, offer_id, owner_id=the_person().id, public_id=public_id, at=now())
    return redirect(url_for("pictures.sharing", public_id=public_id, did="back"), code=303)


@blueprint.app_context_processor
def to_offer_to() -> dict[str, object]:
    """Let a list of one's own pictures ask into which catalogues they may go."""
    return {"offer_targets": _targets}


def _offer(public_id: str, catalogue_id: int) -> bool:
    me, lets, at = the_person().id, forms.ticked("lets_drill"), now()
    with store().work() as db:
        return offer_picture(db, storage(), public_id, owner_id=me, catalogue_id=catalogue_id, lets_drill=lets, on=her_day(), at=at)


def _offer_each(wanted: tuple[str, ...], catalogue_id: int) -> offers.Offering:
    """Offer pictures one by one, each kept by itself, so that one that may not be keeps no other back."""
    told = offers.Offering()
    for public_id in wanted:
        try:
            put = _offer(public_id, catalogue_id)
            told = replace(told, put=told.put + put, offered=told.offered + (not put))
        except AlreadyDone:
            told = replace(told, already=told.already + 1)
        except (Invalid, NotFound) as error:
            told = replace(told, refused=(*told.refused, _refused(public_id, error)))
    return told


def _refused(public_id: str, error: Invalid | NotFound) -> shares.NotShared:
    with store().look() as db:
        one = shares.refused_one(db, the_person().id, public_id, error.sentence, on=her_day())
    if error.sentence == offers.UNKNOWN_FORM:
        return replace(one, mends="label")
    return replace(one, mends="describe") if isinstance(error, Invalid) and error.field in ("use", "cluster") else one


def _targets() -> tuple[offers.Target, ...]:
    with store().look() as db:
        return offers.list_targets(db, the_person().id)
