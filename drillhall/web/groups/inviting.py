"""A group's links and codes: making and ending them, and joining by one."""

from __future__ import annotations

from typing import Any, Final

from flask import redirect, render_template, request, url_for
from flask import session as form_session

from drillhall.errors import Invalid, NotFound
from drillhall.people import invitations, limits
from drillhall.people.permissions import the_led_group
from drillhall.web import forms, invited
from drillhall.web.groups.room import Page, blueprint
from drillhall.web.session import now, outside_address, store, the_person
from drillhall.words import say

LINK: Final = "group invitation"


@blueprint.route("/<group_key>/invitations", methods=["GET", "POST"])
def invite(group_key: str) -> Page:
    """List a group's links and make one; it is shown once, on the page after."""
    if request.method == "GET":
        return _page(group_key)
    try:
        said = _said()
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            made = invitations.invite_to_group(db, group, by=the_person(), at=now(), with_code=forms.ticked("with_code"), **said)
    except Invalid as error:
        return _page(group_key, error), 422
    # Neither is stored anywhere, so they travel to the next page in her own browser.
    form_session[_kept_as(group.public_id)] = [made.token, made.code]
    return redirect(url_for("groups.invite", group_key=group_key), code=303)


@blueprint.post("/<group_key>/invitations/<int:invitation_id>/end")
def end_invitation(group_key: str, invitation_id: int) -> Page:
    """End a link before its time."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key)
        invitations.end_invitation(db, invitation_id, by=the_person(), at=now(), group=group)
    return redirect(url_for("groups.invite", group_key=group_key), code=303)


@blueprint.post("/enter/<token>")
def enter(token: str) -> Page:
    """Join a group by its link, or by the code typed before, with the account that one has."""
    key = invited.key_of(token)
    with store().work() as db:
        limits.spend_try(db, limits.JOIN, limits.place_of(request.remote_addr), at=now())
    with store().work() as db:
        group_key = invitations.join_group(db, key, person=the_person(), at=now())
    return redirect(url_for("groups.group", group_key=group_key, did="joined"), code=303)


@blueprint.route("/join", methods=["GET", "POST"])
def by_code() -> Page:
    """Take a code that somebody types; where it is good, ask her what a link would ask."""
    if request.method == "GET":
        return render_template("groups/by_code.html", wrong=None)
    with store().work() as db:
        limits.spend_try(db, limits.JOIN_CODE, limits.place_of(request.remote_addr), at=now())
        limits.spend_try(db, limits.JOIN_CODE_HALL, at=now())
    try:
        code = invitations.Code(forms.text("code", most=40))
        with store().look() as db:
            invitations.the_invitation(db, code, at=now())
    except (Invalid, NotFound):
        wrong = Invalid(say("This code does not work, or no longer. Ask whoever leads the group for a new one."), field="code")
        return render_template("groups/by_code.html", wrong=wrong), 422
    return redirect(url_for("account.join", token=invited.keep(code)), code=303)


def _said() -> dict[str, Any]:
    places, days = forms.whole("places", say("Places")), forms.whole("days", say("Days"))
    return {"places": places, "days": days, "note": forms.text("note")}


def _kept_as(group_key: str) -> str:
    """Return the name under which a group's new link waits: one a group, else it would be shown as a link of another."""
    return f"{LINK} {group_key}"


def _page(group_key: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        listed = invitations.list_invitations(db, group=group)
    token, code = form_session.pop(_kept_as(group.public_id), ("", ""))
    told = {"link": outside_address(url_for("account.join", token=token)) if token else "", "code": code}
    told["where"] = outside_address(url_for("groups.by_code"))
    return render_template("groups/invite.html", group=group, invitations=listed, wrong=wrong, at=now(), **told)
