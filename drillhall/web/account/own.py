"""Everybody's own account: preferences, passphrase, devices."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.acts.change_preferences import change_preferences
from drillhall.errors import Invalid, NotAllowed
from drillhall.people import accounts, limits, resets, second_step, sign_ins
from drillhall.people.person import Preferences
from drillhall.pictures import withdrawing
from drillhall.practice import first_steps
from drillhall.practice.naming import known_lists
from drillhall.web import forms
from drillhall.web.account.room import Page, blueprint, leave, offer, zones
from drillhall.web.session import now, store, the_person
from drillhall.words import say
from drillhall.words.speaking import known_language


@blueprint.route("/settings", methods=["GET", "POST"])
def settings() -> Page:
    """Show and keep how somebody wants her drills."""
    person = the_person()
    if request.method == "GET":
        return _settings_page(person.preferences, saved="saved" in request.args)
    try:
        wishes = _typed_wishes(person.preferences)
        with store().work() as db:
            change_preferences(db, person, wishes, at=now())
    except Invalid as error:
        return _settings_page(person.preferences, wrong=error), 422
    return redirect(url_for("account.settings", saved="yes"), code=303)


@blueprint.route("/passphrase", methods=["GET", "POST"])
def passphrase() -> Page:
    """Change one's passphrase, which signs out every other device."""
    person = the_person()
    if request.method == "GET":
        return _passphrase_page()
    with store().work() as db:
        limits.spend_try(db, limits.PASSPHRASE, str(person.id), at=now())
    try:
        with store().work() as db:
            accounts.change_passphrase(db, person, old=forms.text("old", most=2000), new=forms.text("new", most=2000), at=now())
    except Invalid as error:
        return _passphrase_page(error), 422
    return redirect(url_for("account.devices", changed="yes"), code=303)


@blueprint.get("/devices")
def devices() -> Page:
    """List where somebody is signed in."""
    person = the_person()
    with store().look() as db:
        listed = sign_ins.list_devices(db, person.id, this=person.sign_in_id, at=now())
    return render_template("account/devices.html", devices=listed, changed="changed" in request.args)


@blueprint.post("/devices/<int:sign_in_id>/end")
def end_device(sign_in_id: int) -> Page:
    """Sign out one other device."""
    person = the_person()
    if sign_in_id == person.sign_in_id:
        raise NotAllowed(say("That is the device in your hand: use *Sign out here*."))
    with store().work() as db:
        sign_ins.end_sign_in(db, person.id, sign_in_id)
    return redirect(url_for("account.devices"), code=303)


@blueprint.post("/sign-out-everywhere")
def sign_out_everywhere() -> Page:
    """Sign out every device, this one included."""
    with store().work() as db:
        sign_ins.end_sign_ins(db, the_person().id)
    return leave()


def _typed_wishes(before: Preferences) -> Preferences:
    return Preferences(
        zone=forms.text("zone", most=64),
        language=known_language(forms.text("language", most=16)) or before.language,
        minutes_a_day=forms.whole("minutes_a_day", say("Minutes a day")),
        target_recall=forms.whole("target_recall", say("How sure to stay")) / 100,
        new_a_day=forms.whole("new_a_day", say("Pairs to meet a day")),
        round_length=forms.whole("round_length", say("Pictures in a round")) if forms.text("round_length", most=10) else None,
        colour_vision=forms.text("colour_vision", most=16),
        list_name=forms.text("list_name", most=200),
        single_keys=forms.ticked("single_keys"),
        letter_keys=forms.ticked("letter_keys"),
        in_words=forms.ticked("in_words"),
        keep_originals=forms.ticked("keep_originals"),
    )


def _settings_page(wishes: Preferences, *, wrong: Invalid | None = None, saved: bool = False) -> str:
    with store().look() as db:
        told = {"originals": 0 if wishes.keep_originals else withdrawing.count_originals(db, the_person().id), "lists": known_lists(db)}
        told["has_steps_away"] = bool(first_steps.list_paths(db, the_person().id, put_away=True))
    return render_template("account/settings.html", wishes=wishes, wrong=wrong, saved=saved, zones=zones(), **told)


def _passphrase_page(wrong: Invalid | None = None) -> str:
    with store().look() as db:
        least, reset_at = second_step.least_signs(db, the_person()), resets.find_reset(db, the_person().id)
    return render_template("account/passphrase.html", wrong=wrong, offered=offer(), least=least, reset_at=reset_at)
