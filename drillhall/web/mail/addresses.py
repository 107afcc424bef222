"""Where somebody is reached by mail, and whether she wants reminders."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.acts import mail_links
from drillhall.errors import Invalid
from drillhall.people import addresses, limits
from drillhall.post import outbox
from drillhall.web import forms
from drillhall.web.mail.room import Page, blueprint
from drillhall.web.office import new_name, the_office
from drillhall.web.session import now, store, the_person


@blueprint.route("/settings/mail", methods=["GET", "POST"])
def address() -> Page:
    """Show where somebody is reached, and take an address, which is good once it is confirmed from the letter."""
    person = the_person()
    if request.method == "GET":
        return _page()
    office = the_office()
    with store().work() as db:
        limits.spend_try(db, limits.ASK_MAIL, str(person.id), at=now())
    try:
        with store().work() as db:
            mail_links.ask_address(db, office, person, forms.text("address"), public_id=new_name(), at=now())
    except Invalid as wrong:
        return _page(wrong), 422
    return _back("asked")


@blueprint.post("/settings/mail/forget")
def forget_address() -> Page:
    """Forget somebody's address."""
    with store().work() as db:
        mail_links.forget_address(db, the_person())
    return _back("forgotten")


@blueprint.post("/settings/mail/reminders")
def reminders() -> Page:
    """Say whether one wants reminders."""
    with store().work() as db:
        mail_links.want_reminders(db, the_person(), wants=forms.ticked("reminders"))
    return _back("kept")


def _page(wrong: Invalid | None = None) -> str:
    with store().look() as db:
        reached, refused_at = addresses.find_address(db, the_person()), outbox.find_refused(db, the_person().id)
    told = {"reached": reached, "refused_at": refused_at, "wrong": wrong, "did": request.args.get("did", "")}
    return render_template("mail/address.html", **told)


def _back(did: str) -> Page:
    return redirect(url_for("mail.address", did=did), code=303)
