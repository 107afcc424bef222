"""An open question by mail, asked for by anybody."""

from __future__ import annotations

from flask import current_app, redirect, render_template, request, url_for

from drillhall.acts import mail_links
from drillhall.errors import Invalid
from drillhall.people import limits
from drillhall.practice.open_questions import keeping
from drillhall.web import forms
from drillhall.web.office import new_name, the_office
from drillhall.web.open_questions.room import Page, blueprint
from drillhall.web.session import now, store


@blueprint.route("/open/<public_id>/by-mail", methods=["GET", "POST"])
def by_mail(public_id: str) -> Page:
    """Take an address to which the question shall come each day; the answer is the same whether it is known already or not."""
    if request.method == "GET":
        return _page(public_id)
    office = the_office()
    place = limits.veiled_place(limits.ASK_MAIL, request.remote_addr, key=str(current_app.secret_key), at=now())
    with store().work() as db:
        limits.spend_try(db, limits.ASK_MAIL, place, at=now())
    try:
        with store().work() as db:
            question = keeping.the_question(db, public_id, at=now())
            mail_links.ask_question(db, office, question, forms.text("address"), public_id=new_name(), at=now())
    except Invalid as wrong:
        return _page(public_id, wrong), 422
    return redirect(url_for("open.by_mail", public_id=public_id, did="asked"), code=303)


def _page(public_id: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        question = keeping.the_question(db, public_id, at=now())
    return render_template("open/by_mail.html", question=question, wrong=wrong, asked="did" in request.args)
