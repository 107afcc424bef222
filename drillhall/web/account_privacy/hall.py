"""What the keeper does about what is kept: for one account, and how long what is over stays."""

from __future__ import annotations

from dataclasses import fields

from flask import redirect, render_template, request, url_for

from drillhall.errors import Conflict, Invalid
from drillhall.people import accounts, retention
from drillhall.people.retention import LABELS, LONGEST_DAYS, Retention
from drillhall.web import forms
from drillhall.web.account_privacy import room
from drillhall.web.account_privacy.room import Page, Whom, blueprint
from drillhall.web.session import now, store, the_person


@blueprint.get("/hall/people/<int:account_id>/kept")
def account_kept(account_id: int) -> Page:
    """Say what is kept about an account: how much of what, and not what it says."""
    return room.kept_page(_account(account_id))


@blueprint.post("/hall/people/<int:account_id>/export")
def export_account(account_id: int) -> Page:
    """Write down that an account's things are taken out, and go on to them."""
    room.note_export(_account(account_id))
    return redirect(url_for("privacy.account_everything", account_id=account_id), code=303)


@blueprint.get("/hall/people/<int:account_id>/everything.zip")
def account_everything(account_id: int) -> Page:
    """Give the keeper everything about an account, to hand it to whom it is about."""
    return room.noted_zip(_account(account_id))


@blueprint.route("/hall/people/<int:account_id>/erase", methods=["GET", "POST"])
def erase_account(account_id: int) -> Page:
    """Erase a person, once the keeper has shown her own passphrase."""
    whom = _account(account_id)
    if account_id == the_person().id:
        return redirect(url_for("privacy.erase"), code=303)
    if request.method == "GET":
        return room.erase_page(whom)
    try:
        room.erase(whom)
    except (Invalid, Conflict) as error:
        return room.erase_page(whom, error if isinstance(error, Invalid) else Invalid(error.sentence)), 422
    return redirect(url_for("keeper.people"), code=303)


@blueprint.route("/hall/keeping", methods=["GET", "POST"])
def keeping() -> Page:
    """Show and set how long what is over is kept."""
    if request.method == "GET":
        return _keeping_page()
    try:
        spans = Retention(**{one.name: forms.whole(one.name, LABELS[one.name]) for one in fields(Retention)})
        with store().work() as db:
            retention.set_retention(db, spans, by=the_person(), at=now())
    except Invalid as error:
        return _keeping_page(error), 422
    return redirect(url_for("privacy.keeping", saved="yes"), code=303)


def _keeping_page(wrong: Invalid | None = None) -> str:
    with store().look() as db:
        spans = retention.the_retention(db)
    told = {"labels": LABELS, "longest": LONGEST_DAYS, "usual": Retention(), "saved": "saved" in request.args}
    return render_template("account/keeping.html", spans=spans, wrong=wrong, **told)


def _account(account_id: int) -> Whom:
    with store().look() as db:
        person = accounts.the_person_of(db, account_id)
    doors = ("account_kept", "export_account", "erase_account")
    kept_url, export_url, erase_url = (url_for(f"privacy.{name}", account_id=account_id) for name in doors)
    return Whom(person.id, person.name, kept_url, export_url, erase_url)
