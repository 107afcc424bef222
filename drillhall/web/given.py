"""The door for whoever has a slip: the passphrase on it leads to this page alone, where she chooses one of her own."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from flask import Blueprint, redirect, render_template, request, url_for
from flask import session as form_session
from werkzeug.wrappers import Response

from drillhall.errors import Invalid, NotFound
from drillhall.people import limits, roster_slips
from drillhall.people.passphrases import LEAST, offer_passphrase
from drillhall.web import forms
from drillhall.web.session import dice, now, store
from drillhall.words import say

blueprint: Final = Blueprint("given", __name__)
Page = str | tuple[str, int] | Response

_KEPT_AS: Final = "slip shown"
_HOLDS: Final = timedelta(minutes=30)


@blueprint.app_errorhandler(roster_slips.OwnNeeded)
def own_needed(shown: roster_slips.OwnNeeded) -> Response:
    """Lead whoever has shown the passphrase of her slip to the page where she chooses her own; it is not a way in."""
    form_session[_KEPT_AS] = [shown.account_id, shown.given_at.isoformat(), now().isoformat()]
    return redirect(url_for("given.choose"), code=303)


@blueprint.route("/own-passphrase", methods=["GET", "POST"])
def choose() -> Page:
    """Say who gave the passphrase, and take one of her own in its place, with which she then signs in."""
    given = _the_given()
    if request.method == "GET":
        return _page(given)
    with store().work() as db:
        limits.spend_try(db, limits.PASSPHRASE, str(given.account_id), at=now())
    try:
        with store().work() as db:
            roster_slips.choose_own(db, given, typed=forms.text("new", most=2000), at=now())
    except Invalid as error:
        return _page(given, error), 422
    form_session.pop(_KEPT_AS, None)
    return redirect(url_for("account.sign_in", chosen="yes"), code=303)


def _the_given() -> roster_slips.Given:
    kept = form_session.get(_KEPT_AS)
    if kept is None or datetime.fromisoformat(kept[2]) + _HOLDS < now():
        raise NotFound(say("Sign in with the passphrase on your slip first."))
    with store().look() as db:
        return roster_slips.the_given(db, kept[0], given_at=datetime.fromisoformat(kept[1]), at=now())


def _page(given: roster_slips.Given, wrong: Invalid | None = None) -> str:
    return render_template("given/choose.html", given=given, wrong=wrong, least=LEAST, offered=offer_passphrase(dice=dice()))
