"""One's own second step: how it stands, setting it up, spare codes, turning it off."""

from __future__ import annotations

from typing import Final
from urllib.parse import urlsplit

from flask import redirect, render_template, request, url_for
from flask import session as form_session
from werkzeug.wrappers import Response

from drillhall.core import one_time
from drillhall.errors import Invalid
from drillhall.people import limits, second_step
from drillhall.web import forms, session
from drillhall.web.second_step.drawing import draw
from drillhall.web.second_step.recognising import check_passphrase, recognise_shown, spend_try
from drillhall.web.second_step.room import Page, blueprint
from drillhall.web.session import now, store, the_person

_SPARE: Final = "spare codes"


@blueprint.get("/second-step")
def state() -> Page:
    """Say how one's second step stands."""
    return _state_page()


@blueprint.post("/second-step")
def begin() -> Page:
    """Make a new secret, once she has shown her passphrase."""
    try:
        check_passphrase()
    except Invalid as error:
        return _state_page(error), 422
    with store().work() as db:
        second_step.make_secret(db, the_person(), at=now())
    return redirect(url_for("second_step.set_up"), code=303)


@blueprint.route("/second-step/set-up", methods=["GET", "POST"])
def set_up() -> Page:
    """Show the new secret, and turn the second step on by a first code."""
    if request.method == "GET":
        return _set_up_page()
    person = the_person()
    spend_try(person.id)
    spare = second_step.draw_spare()
    try:
        with store().work() as db:
            token, stay = second_step.confirm(db, person, forms.text("code", most=40), spare, at=now())
            limits.forget_tries(db, limits.SECOND_STEP, str(person.id))
    except Invalid as error:
        return _set_up_page(error), 422
    return session.set_sign_in_cookie(show_spare(spare), token, stay=stay)


@blueprint.get("/second-step/spare-codes")
def spare_codes() -> Page:
    """Show spare codes, once."""
    return render_template("second_step/spare_codes.html", codes=form_session.pop(_SPARE, []))


@blueprint.post("/second-step/spare-codes")
def renew_spare() -> Page:
    """Make new spare codes, with a code shown; the old ones are good for nothing from then on."""
    try:
        shown, spare = recognise_shown(the_person().id), second_step.draw_spare()
        with store().work() as db:
            second_step.renew_spare(db, shown, spare, at=now())
    except Invalid as error:
        return _state_page(error, "renew"), 422
    return show_spare(spare)


@blueprint.post("/second-step/off")
def turn_off() -> Page:
    """Turn the second step off, with passphrase and code."""
    try:
        typed = check_passphrase()
        shown = recognise_shown(the_person().id)
        with store().work() as db:
            second_step.turn_off(db, shown, passphrase=typed, at=now())
    except Invalid as error:
        return _state_page(error, "off"), 422
    return redirect(url_for("second_step.state"), code=303)


def show_spare(spare: tuple[second_step.Spare, ...]) -> Response:
    """Lead to the page that shows spare codes, once."""
    # The codes are stored nowhere, so they travel to the next page in her own browser, which shows them once.
    form_session[_SPARE] = [one.code for one in spare]
    return redirect(url_for("second_step.spare_codes"), code=303)


def _state_page(wrong: Invalid | None = None, at: str = "") -> str:
    with store().look() as db:
        told = second_step.the_state(db, the_person())
    return render_template("second_step/state.html", second=told, wrong=wrong, wrong_at=at, spared="spared" in request.args)


def _set_up_page(wrong: Invalid | None = None) -> str:
    person = the_person()
    with store().look() as db:
        secret = second_step.the_new_secret(db, person)
    host = urlsplit(session.outside_address("")).hostname or ""
    address = one_time.address_of(secret, name=person.name, hall=f"Drillhall, {host}")
    return render_template(
        "second_step/set_up.html", drawn=draw(address), address=address, letters=one_time.in_letters(secret), wrong=wrong
    )
