"""The links in letters. Opening one changes nothing, for scanners open them too; its button does, and so does a mail program's one click.

Source: RFC 8058 section 3.2 (from memory): the program sends `List-Unsubscribe=One-Click` by POST, without cookies, and is to be
answered at once, without being sent elsewhere.
"""

from __future__ import annotations

from typing import Final

from flask import current_app, make_response, redirect, render_template, request, url_for

from drillhall.acts.mail_links import follow as follow_link
from drillhall.errors import Invalid, NotFound
from drillhall.post import sealing
from drillhall.web import forms
from drillhall.web.mail.room import Page, blueprint
from drillhall.web.session import now, store
from drillhall.words import say

STOPS: Final = (sealing.STOP_REMINDERS, sealing.STOP_QUESTION)
PURPOSES: Final = (sealing.CONFIRM_ADDRESS, sealing.CONFIRM_QUESTION, *STOPS)


@blueprint.get("/mail/<purpose>/<token>")
def link(purpose: str, token: str) -> Page:
    """Show what a link will do, or has done, with the button that does it."""
    meant, _ = _read(purpose, token)
    return render_template("mail/link.html", purpose=meant, token=token, path=purpose, done="did" in request.args)


@blueprint.post("/mail/<purpose>/<token>")
def follow(purpose: str, token: str) -> Page:
    """Do what a link is for. The seal is the proof, so no form token is asked for."""
    meant, public_id = _read(purpose, token)
    one_click = meant in STOPS and forms.text("List-Unsubscribe") == "One-Click"
    if not one_click and forms.text("page") != "yes":
        raise Invalid(say("Open the link from the mail and press its button."), field="page")
    with store().work() as db:
        follow_link(db, meant, public_id, at=now())
    if one_click:
        response = make_response("Done. You get no more of this.\n")
        response.content_type = "text/plain; charset=utf-8"
        return response
    return redirect(url_for("mail.link", purpose=purpose, token=token, did="yes"), code=303)


def _read(purpose: str, token: str) -> tuple[str, str]:
    meant = purpose.replace("-", " ")
    if meant not in PURPOSES or meant.replace(" ", "-") != purpose:
        raise NotFound(say("There is no such page here."))
    return meant, sealing.unseal(str(current_app.secret_key), meant, token, at=now())
