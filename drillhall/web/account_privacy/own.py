"""What is kept about oneself: to read, to take along, to have erased."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for
from flask import session as form_session

from drillhall.errors import Conflict, Invalid
from drillhall.web import session
from drillhall.web.account_privacy import room
from drillhall.web.account_privacy.room import Page, Whom, blueprint
from drillhall.web.session import the_person


@blueprint.get("/you/kept")
def kept() -> Page:
    """Say what is kept about whoever asks."""
    return room.kept_page(_oneself())


@blueprint.get("/you/everything.zip")
def everything() -> Page:
    """Give somebody everything that is kept about her."""
    return room.whole_zip(_oneself())


@blueprint.route("/you/erase", methods=["GET", "POST"])
def erase() -> Page:
    """Erase whoever asks, once she has shown her passphrase."""
    whom = _oneself()
    if request.method == "GET":
        return room.erase_page(whom)
    try:
        room.erase(whom)
    except (Invalid, Conflict) as error:
        return room.erase_page(whom, error if isinstance(error, Invalid) else Invalid(error.sentence)), 422
    form_session.clear()
    response = session.drop_sign_in_cookie(redirect(url_for("privacy.gone"), code=303))
    response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response


@blueprint.get("/gone")
def gone() -> Page:
    """Say that somebody is erased, to whoever was."""
    return render_template("account/gone.html")


def _oneself() -> Whom:
    person = the_person()
    kept_url, export_url, erase_url = (url_for(f"privacy.{name}") for name in ("kept", "everything", "erase"))
    return Whom(person.id, person.name, kept_url, export_url, erase_url, is_self=True)
