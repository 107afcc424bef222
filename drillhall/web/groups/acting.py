"""What is done in a group: leaving, handing over, ending a membership, archiving."""

from __future__ import annotations

from flask import redirect, url_for

from drillhall.acts.leave_group import leave_group
from drillhall.people import groups
from drillhall.people.permissions import the_group, the_led_group
from drillhall.web import forms
from drillhall.web.groups.room import Page, blueprint
from drillhall.web.session import now, store, the_person


@blueprint.post("/<group_key>/leave")
def leave(group_key: str) -> Page:
    """Leave a group, with one's pictures where that is ticked."""
    with store().work() as db:
        taken = leave_group(db, the_group(db, the_person(), group_key), by=the_person(), takes_back=forms.ticked("takes_back"), at=now())
    return redirect(url_for("groups.all_groups", did="left", taken=taken or None), code=303)


@blueprint.post("/<group_key>/members/<int:membership_id>/end")
def end_membership(group_key: str, membership_id: int) -> Page:
    """End somebody else's membership."""
    with store().work() as db:
        groups.end_membership(db, the_led_group(db, the_person(), group_key), membership_id, by=the_person(), at=now())
    return _back(group_key, "ended")


@blueprint.post("/<group_key>/members/<int:membership_id>/lead")
def make_head(group_key: str, membership_id: int) -> Page:
    """Let a member lead the group too."""
    with store().work() as db:
        groups.make_head(db, the_led_group(db, the_person(), group_key), membership_id, by=the_person(), at=now())
    return _back(group_key, "handed")


@blueprint.post("/<group_key>/step-down")
def step_down(group_key: str) -> Page:
    """Stop leading a group, and stay in it."""
    with store().work() as db:
        groups.step_down(db, the_led_group(db, the_person(), group_key), by=the_person(), at=now())
    return _back(group_key, "stepped")


@blueprint.post("/<group_key>/let-see")
def let_see(group_key: str) -> Page:
    """Say whether whoever leads a club may see one's own progress by name."""
    with store().work() as db:
        groups.let_see(db, the_group(db, the_person(), group_key), by=the_person(), lets=forms.ticked("lets"))
    return _back(group_key, "seen")


@blueprint.post("/<group_key>/archive")
def archive(group_key: str) -> Page:
    """Archive a group."""
    with store().work() as db:
        groups.archive(db, the_led_group(db, the_person(), group_key, archived=True), by=the_person(), at=now())
    return _back(group_key, "archived")


@blueprint.post("/<group_key>/open-again")
def open_again(group_key: str) -> Page:
    """Take a group out of the archive."""
    with store().work() as db:
        groups.open_again(db, the_led_group(db, the_person(), group_key, archived=True), by=the_person(), at=now())
    return _back(group_key, "opened")


def _back(group_key: str, did: str) -> Page:
    return redirect(url_for("groups.group", group_key=group_key, did=did), code=303)
