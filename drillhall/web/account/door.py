"""The door of the hall: sign in, join, first run, step into the demo."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, Final

from flask import Response, jsonify, redirect, render_template, request, url_for
from flask import session as form_session
from flask_wtf.csrf import generate_csrf
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import Invalid, NameTaken, NotFound
from drillhall.people import (
    accounts,
    audit,
    hall,
    invitations,
    limits,
    links,
    passphrases,
    preferences,
    resets,
    roster_slips,
    second_step,
    sign_ins,
)
from drillhall.people.names import fold_name
from drillhall.people.person import Preferences
from drillhall.web import forms, invited, session
from drillhall.web.account.room import Page, blueprint, leave, offer, zones
from drillhall.web.session import now, store
from drillhall.words import say, speaking

FIRST_RUN: Final = "account/first_run.html"
JOIN: Final = "account/join.html"


@blueprint.get("/csrf")
def csrf() -> Response:
    """Give a script the token that its next unsafe request must carry."""
    return jsonify(token=generate_csrf())


@blueprint.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Page:
    """Sign in on this device."""
    if request.method == "GET":
        return sign_in_page(forms.safe_next(request.args.get("next", "")))
    wanted = forms.safe_next(forms.text("next", most=2000))
    try:
        token, why = _sign_in(forms.text("name"), forms.text("passphrase", most=2000), stay=forms.ticked("stay"))
    except Invalid as error:
        return sign_in_page(wanted, error), 422
    # Whoever came to lead since she chose it is told until it is longer, or no longer stands alone; whose was reset, until it is her own.
    asked: dict[str, Any] = {why: "yes"}
    goes_to = url_for("account.passphrase", **asked) if why else wanted
    return _enter(token, stay=forms.ticked("stay"), wanted=goes_to)


@blueprint.post("/sign-out")
def sign_out() -> Page:
    """Sign out on this device and take what the browser kept of the hall."""
    token = session.sign_in_token()
    if token:
        with store().work() as db:
            accounts.sign_out(db, token, at=now())
    return leave()


@blueprint.route("/first-run/<token>", methods=["GET", "POST"])
def first_run(token: str) -> Page:
    """Make the keeper's account of a new hall."""
    with store().look() as db:
        if hall.has_keeper(db):
            raise NotFound(say("This hall has a keeper already. Sign in, or ask the keeper for an invitation."))
        links.the_link_account(db, links.FIRST_RUN, token, at=now())
    if request.method == "GET":
        return _new_account_page(FIRST_RUN)
    _spend(limits.FIRST_RUN)
    try:
        with store().work() as db:
            person = accounts.make_keeper(db, token, **_typed_account(), at=now(), preferences=_first_wishes())
            entered = accounts.sign_in(db, accounts.Recognised(person.id), at=now(), stay=True)
    except (Invalid, NameTaken) as error:
        return _new_account_page(FIRST_RUN, error), 422
    return _enter(entered, stay=True)


@blueprint.route("/join/<token>", methods=["GET", "POST"])
def join(token: str) -> Page:
    """Join the hall by an invitation; whoever is in it already is asked whether she joins the group that it names."""
    key = invited.key_of(token)
    with store().look() as db:
        invitation = invitations.the_invitation(db, key, at=now())
    if request.method == "GET":
        return _invited_page(token, invitation)
    _spend(limits.JOIN)
    try:
        with store().work() as db:
            _check_age(hall.least_age(db))
            person = invitations.join(db, key, **_typed_account(), at=now(), preferences=_first_wishes())
            entered = accounts.sign_in(db, accounts.Recognised(person.id), at=now(), stay=forms.ticked("stay"))
    except (Invalid, NameTaken) as error:
        return _new_account_page(JOIN, error, invitation=invitation, token=token), 422
    return _enter(entered, stay=forms.ticked("stay"))


@blueprint.route("/sign-up", methods=["GET", "POST"])
def sign_up() -> Page:
    """Join a hall that its keeper has opened to everybody."""
    with store().look() as db:
        if not hall.is_open(db):
            raise NotFound(say("This hall is joined by invitation. Ask whoever told you of it for a link."))
    if request.method == "GET":
        return _new_account_page(JOIN)
    _spend(limits.JOIN)
    try:
        with store().work() as db:
            _check_age(hall.least_age(db))
            person = invitations.join_openly(db, **_typed_account(), at=now(), preferences=_first_wishes())
            entered = accounts.sign_in(db, accounts.Recognised(person.id), at=now(), stay=forms.ticked("stay"))
    except (Invalid, NameTaken) as error:
        return _new_account_page(JOIN, error), 422
    return _enter(entered, stay=forms.ticked("stay"))


@blueprint.route("/step-in/<token>", methods=["GET", "POST"])
def step_in(token: str) -> Page:
    """Step into the demo hall as one of its people."""
    if not session.settings().demo:
        raise NotFound(say("There is no such page here."))
    with store().look() as db:
        account_id = links.the_link_account(db, links.STEP_IN, token, at=now())
        person = accounts.the_person_of(db, account_id or 0)
    if request.method == "GET":
        return render_template("account/step_in.html", whom=person)
    _spend(limits.STEP_IN)
    with store().work() as db:
        entered = accounts.step_in(db, token, at=now(), instead_of=session.sign_in_token())
    return _enter(entered, stay=False)


def _sign_in(name: str, passphrase: str, *, stay: bool) -> tuple[str, str]:
    """Count the try, look whether the passphrase fits (slow, so without holding the write lock), then sign in.

    Returns the token, and why she is to take another passphrase: "short" for what she has come to see to, "reset", or nothing.
    """
    place, whom = limits.place_of(request.remote_addr), fold_name(name)
    with store().work() as db:
        limits.spend_try(db, limits.SIGN_IN_PLACE, place, at=now())
        limits.spend_try(db, limits.SIGN_IN_NAME, whom, at=now())
        limits.spend_try(db, limits.SIGN_IN_ONE, whom, place, at=now())
    try:
        with store().look() as db:
            who = accounts.recognise(db, name=name, passphrase=passphrase)
            roster_slips.check_own(db, who.account_id, at=now())
    except Invalid:
        with store().work() as db:
            audit.note(db, "sign-in refused", at=now())
        raise
    with store().work() as db:
        limits.forget_tries(db, limits.SIGN_IN_ONE, whom, place)
        if not second_step.is_on(db, who.account_id):
            is_short = who.is_short and second_step.needs_strong(db, who.account_id)
            why = "reset" if resets.find_reset(db, who.account_id) else "short" if is_short else ""
            return accounts.sign_in(db, who, at=now(), stay=stay, instead_of=session.sign_in_token()), why
        accounts.keep_fresh_hash(db, who)
    raise second_step.CodeNeeded(who.account_id)


def _spend(limit: limits.Limit) -> None:
    with store().work() as db:
        limits.spend_try(db, limit, limits.place_of(request.remote_addr), at=now())


def _enter(token: str, *, stay: bool, wanted: str = "") -> BaseResponse:
    """Go in with a new sign-in; what the browser had of forms before it is worth nothing afterwards."""
    form_session.clear()
    return session.set_sign_in_cookie(redirect(wanted or url_for("learner.today"), code=303), token, stay=stay)


def _typed_account() -> dict[str, str]:
    return {"name": forms.text("name"), "passphrase": forms.text("passphrase", most=2000)}


def _first_wishes() -> Preferences:
    zone = forms.text("zone", most=64)
    return Preferences(zone=zone if zone in preferences.zones() else "UTC", language=speaking())


def sign_in_page(wanted: str, wrong: Invalid | None = None) -> str:
    """Return the page on which one signs in; whose browser still shows a sign-in, of whatever account or none, is told why it is over."""
    with store().look() as db:
        has_keeper, is_open = hall.has_keeper(db), hall.is_open(db)
    is_over = bool(session.sign_in_token()) and session.find_person() is None
    ends = {"hours": sign_ins.IDLE // timedelta(hours=1), "days": sign_ins.IDLE_STAYING.days} if is_over else None
    return render_template("account/sign_in.html", next=wanted, wrong=wrong, has_keeper=has_keeper, is_open=is_open, ends=ends)


def _invited_page(token: str, invitation: invitations.Invitation) -> str:
    person = session.find_person()
    if person is None or not invitation.group:
        return _new_account_page(JOIN, invitation=invitation, token=token)
    with store().look() as db:
        is_in = invitations.is_in(db, invitation, person)
    return render_template("groups/join.html", invitation=invitation, token=token, is_in=is_in)


def _new_account_page(template: str, wrong: Invalid | NameTaken | None = None, **invited: object) -> str:
    if isinstance(wrong, NameTaken):
        wrong = Invalid(wrong.sentence, field="name")
    least = passphrases.LEAST_STRONG if template == FIRST_RUN else passphrases.LEAST
    with store().look() as db:
        least_age = hall.least_age(db)
    return render_template(template, wrong=wrong, offered=offer(), zones=zones(), least=least, least_age=least_age, **invited)


def _check_age(least: int) -> None:
    """One question and no birthday: it is answered, and the answer is not kept."""
    if not forms.ticked("old_enough"):
        raise Invalid(
            say("Say that you are {least} or older. If you are not, ask your teacher or leader to join with you.", least=least),
            field="old_enough",
        )
