"""A group's links: making and ending them, and joining by one."""

from __future__ import annotations

from typing import Final

from flask import redirect, render_template, request, url_for
from flask import session as form_session

from drillhall.errors import Invalid
from drillhall.people import invitations, limits
from drillhall.people.permissions import the_led_group
from drillhall.web import forms
from drillhall.web.groups.room import Page, blueprint
from drillhall.web.session import now, outside_address, store, the_person

LINK: Final = "group invitation"


@blueprint.route("/<group_key>/invitations", methods=["GET", "POST"])
def invite(group_key: str) -> Page:
    """List a group's links and make one; it is shown once, on the page after."""
    if request.method == "GET":
        return _page(group_key)
    try:
        places, days, note = forms.whole("places", "Places"), forms.whole("days", "Days"), forms.text("note")
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            token = invitations.invite(db, by=the_person(), at=now(), places=places, days=days, note=note, group=group)
    except Invalid as error:
        return _page(group_key, error), 422
    # The link is stored nowhere, so it travels to the next page in her own browser.
    form_session[_kept_as(group.public_id)] = token
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
    """Join a group by its link with the account that one has."""
    with store().work() as db:
        limits.spend_try(db, limits.JOIN, limits.place_of(request.remote_addr), at=now())
    with store().work() as db:
        group_key = invitations.join_group(db, token, person=the_person(), at=now())
    return redirect(url_for("groups.group", group_key=group_key, did="joined"), code=303)


def _kept_as(group_key: str) -> str:
    """Return the name under which a group's new link waits: one a group, else it would be shown as a link of another."""
    return f"{LINK} {group_key}"


def _page(group_key: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        listed = invitations.list_invitations(db, group=group)
    token = form_session.pop(_kept_as(group.public_id), None)
    link = outside_address(url_for("account.join", token=token)) if token else ""
    return render_template("groups/invite.html", group=group, invitations=listed, link=link, wrong=wrong, at=now())
