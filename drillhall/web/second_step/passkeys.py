"""One's own passkeys: listed, made, taken off; and what a browser is asked for by them."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from flask import jsonify, redirect, render_template, request, url_for
from flask import session as form_session

from drillhall.errors import Invalid, NotFound
from drillhall.people import ceremonies, passkeys, second_step
from drillhall.web import forms, session
from drillhall.web.second_step.asking import keep_asked, passkey_said, take_asked, the_site
from drillhall.web.second_step.door import half_way
from drillhall.web.second_step.pages import show_spare
from drillhall.web.second_step.recognising import check_passphrase, recognise_shown
from drillhall.web.second_step.room import Page, blueprint
from drillhall.web.session import now, store, the_person
from drillhall.words import say

_MAY_MAKE: Final = "may make a passkey"
_HOLDS: Final = timedelta(minutes=10)


@blueprint.post("/passkeys/ask/<of>")
def ask(of: str) -> Page:
    """Say to a script what is asked of the browser: a passkey of hers at the door, of hers who is signed in, or of whoever it is."""
    site = the_site()
    whom = {"door": lambda: half_way()[0], "own": lambda: the_person().id}.get(of, lambda: 0)()
    with store().look() as db:
        asked, options = passkeys.ask_to_show(db, whom, site, at=now())
    keep_asked(asked)
    return jsonify(options)


@blueprint.get("/passkeys")
def mine() -> Page:
    """List one's passkeys, with the way to make one."""
    return _mine_page()


@blueprint.post("/passkeys")
def begin_passkey() -> Page:
    """Let somebody make a passkey, once she has shown her passphrase, and her second step where she has one."""
    the_site()
    person = the_person()
    try:
        name = passkeys.clean_name(forms.text("name"))
        check_passphrase()
        _show_second_step()
    except Invalid as error:
        return _mine_page(error), 422
    form_session[_MAY_MAKE] = [person.sign_in_id, name, now().isoformat()]
    return redirect(url_for("second_step.make_passkey"), code=303)


@blueprint.route("/passkeys/new", methods=["GET", "POST"])
def make_passkey() -> Page:
    """Have the browser make a passkey, and keep what it has made."""
    name, site, person = _may_make(), the_site(), the_person()
    if request.method == "GET":
        return render_template("second_step/make_passkey.html", name=name)
    spare = second_step.draw_spare() if _is_first() else ()
    try:
        said, asked = passkey_said(), take_asked()
        with store().work() as db:
            renewed = passkeys.add(db, person, site, asked, said, name=name, spare=spare, at=now())
    except Invalid as error:
        return render_template("second_step/make_passkey.html", name=name, wrong=error), 422
    form_session.pop(_MAY_MAKE)
    if renewed is None:
        return redirect(url_for("second_step.mine"), code=303)
    return session.set_sign_in_cookie(show_spare(spare), renewed[0], stay=renewed[1])


@blueprint.post("/passkeys/new/ask")
def ask_to_make() -> Page:
    """Say to a script what is asked of the browser so that it makes a passkey."""
    _may_make()
    with store().look() as db:
        asked, options = passkeys.ask_to_make(db, the_person(), the_site(), at=now())
    keep_asked(asked)
    return jsonify(options)


@blueprint.route("/passkeys/<int:passkey_id>/off", methods=["GET", "POST"])
def take_off(passkey_id: int) -> Page:
    """Take one passkey off, with passphrase and second step."""
    page = _off_page(passkey_id)
    if request.method == "GET":
        return page
    try:
        typed = check_passphrase()
        shown = recognise_shown(the_person().id)
        with store().work() as db:
            passkeys.take_off(db, shown, passkey_id, passphrase=typed, at=now())
    except Invalid as error:
        return _off_page(passkey_id, error), 422
    return redirect(url_for("second_step.mine"), code=303)


def _is_first() -> bool:
    with store().look() as db:
        return not second_step.is_on(db, the_person().id)


def _show_second_step() -> None:
    if _is_first():
        return
    shown = recognise_shown(the_person().id)
    with store().work() as db:
        second_step.use_shown(db, shown, at=now())


def _may_make() -> str:
    """Return the name of the passkey that may be made on this device, or raise NotFound where nobody has shown her passphrase lately."""
    kept = form_session.get(_MAY_MAKE)
    if kept is None or kept[0] != the_person().sign_in_id or datetime.fromisoformat(kept[2]) + _HOLDS < now():
        raise NotFound(say("Begin with your passphrase, under your passkeys; it is asked for again after ten minutes."))
    return str(kept[1])


def _mine_page(wrong: Invalid | None = None) -> str:
    if not ceremonies.is_installed():
        raise NotFound(say("There are no passkeys here."))
    with store().look() as db:
        mine, told = passkeys.list_passkeys(db, the_person().id), second_step.the_state(db, the_person())
    return render_template("second_step/passkeys.html", passkeys=mine, second=told, most=passkeys.MOST, wrong=wrong)


def _off_page(passkey_id: int, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        mine, told = passkeys.list_passkeys(db, the_person().id), second_step.the_state(db, the_person())
    one = next((one for one in mine if one.id == passkey_id), None)
    if one is None:
        raise NotFound(say("There is no such passkey, or it is taken off already."))
    is_last = len(mine) == 1 and told.since is None
    return render_template("second_step/passkey_off.html", passkey=one, second=told, is_last=is_last, wrong=wrong)
