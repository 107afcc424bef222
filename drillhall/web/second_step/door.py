"""The second step at the door: who has shown her passphrase is asked for a code before she is let in."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from flask import redirect, render_template, request, url_for
from flask import session as form_session
from werkzeug.wrappers import Response

from drillhall.errors import Invalid, NotFound
from drillhall.people import accounts, demanding, limits, passkeys, resets, second_step
from drillhall.web import errors, forms, session
from drillhall.web.account.door import sign_in_page
from drillhall.web.second_step.asking import passkey_said, recognise_said, the_site
from drillhall.web.second_step.recognising import note_refused, recognise_shown, spend_try
from drillhall.web.second_step.room import Page, blueprint
from drillhall.web.session import now, store
from drillhall.words import say

_KEPT_AS: Final = "half-way in"
_HOLDS: Final = timedelta(minutes=10)
_OVER: Final = say("Sign in with your passphrase first; it is asked for again after ten minutes.")


@blueprint.app_errorhandler(second_step.CodeNeeded)
def code_needed(shown: second_step.CodeNeeded) -> Response:
    """Lead whoever has shown her passphrase to the page that asks for a code; what the browser had of forms before is worth nothing."""
    with store().look() as db:
        mark = second_step.mark_of(db, shown.account_id)
    wanted = forms.safe_next(forms.text("next", most=2000))
    form_session.clear()
    form_session[_KEPT_AS] = [shown.account_id, mark, now().isoformat(), forms.ticked("stay"), wanted]
    return redirect(url_for("second_step.code"), code=303)


@blueprint.app_errorhandler(demanding.SecondStepDue)
def second_step_due(_: demanding.SecondStepDue) -> Response:
    """Lead whoever has to set up a second step to where that is done; what a form would have done is not done."""
    if errors.wants_json():
        return errors.error_page(403, say("Set up a second step at sign-in first, under *You*: this hall demands one of whoever leads."))
    return redirect(url_for("second_step.state", demanded="yes"), code=303)


@blueprint.route("/sign-in/code", methods=["GET", "POST"])
def code() -> Page:
    """Ask for the code of the second step, and sign in with it."""
    account_id, stay, wanted = half_way()
    if request.method == "GET":
        return _code_page(account_id)
    try:
        shown = recognise_shown(account_id)
        with store().work() as db:
            second_step.use_shown(db, shown, at=now())
            own = url_for("account.passphrase", reset="yes") if resets.find_reset(db, account_id) else ""
            who, act = accounts.Recognised(account_id), "signed in with a second step"
            token = accounts.sign_in(db, who, at=now(), stay=stay, instead_of=session.sign_in_token(), act=act)
    except Invalid as error:
        return _code_page(account_id, error), 422
    form_session.clear()
    goes_to = url_for("second_step.state", spared="yes") if shown.spare_id else own or wanted or url_for("learner.today")
    return session.set_sign_in_cookie(redirect(goes_to, code=303), token, stay=stay)


@blueprint.post("/sign-in/passkey")
def by_passkey() -> Page:
    """Sign in with a passkey alone: it is a device of hers, and the device has asked who holds it."""
    the_site()
    wanted, stay = forms.safe_next(forms.text("next", most=2000)), forms.ticked("stay")
    try:
        shown = _recognise_whoever()
        with store().work() as db:
            second_step.use_shown(db, shown, at=now())
            who, act = accounts.Recognised(shown.account_id), "signed in by a passkey"
            token = accounts.sign_in(db, who, at=now(), stay=stay, instead_of=session.sign_in_token(), act=act)
            limits.forget_tries(db, limits.SECOND_STEP, str(shown.account_id))
    except Invalid as error:
        return sign_in_page(wanted, error), 422
    form_session.clear()
    return session.set_sign_in_cookie(redirect(wanted or url_for("learner.today"), code=303), token, stay=stay)


def _recognise_whoever() -> second_step.Shown:
    """Count the try, by place and by whose passkey it is said to be, and return the passkey; raises Invalid, after it was written down."""
    with store().work() as db:
        limits.spend_try(db, limits.SIGN_IN_PLACE, limits.place_of(request.remote_addr), at=now())
        owner = passkeys.find_owner(db, passkey_said())
    if owner:
        spend_try(owner)
    try:
        return recognise_said(0)
    except Invalid as error:
        note_refused(error, owner)
        raise


def _code_page(account_id: int, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        told = second_step.the_state(db, accounts.the_person_of(db, account_id))
    return render_template("second_step/code.html", second=told, wrong=wrong)


def half_way() -> tuple[int, bool, str]:
    """Return who has shown her passphrase here, whether she stays, and where she goes on to; raises NotFound where nobody has."""
    kept = form_session.get(_KEPT_AS)
    if kept is None or datetime.fromisoformat(kept[2]) + _HOLDS < now():
        raise NotFound(_OVER)
    with store().look() as db:
        mark = second_step.mark_of(db, kept[0])
    if not mark or mark != kept[1]:
        raise NotFound(_OVER)
    return kept[0], kept[3], kept[4]
