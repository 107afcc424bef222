"""The list of one's groups, the form that makes one, and a group's own page."""

from __future__ import annotations

from uuid import UUID

from flask import redirect, render_template, request, url_for

from drillhall.errors import Invalid
from drillhall.people import groups, roster
from drillhall.people.permissions import the_group
from drillhall.pictures.shared import list_left_behind, list_shared
from drillhall.practice.assigning import list_assignments
from drillhall.web import forms
from drillhall.web.groups.room import Page, blueprint, her_day
from drillhall.web.session import dice, now, store, the_person


@blueprint.get("")
def all_groups() -> Page:
    """List somebody's groups, with the form that makes one."""
    return _page()


@blueprint.post("")
def make() -> Page:
    """Make a group; whoever makes it leads it."""
    try:
        title, kind = forms.text("title"), forms.text("kind", most=10)
        public_id, is_paid = str(UUID(int=dice().getrandbits(128), version=4)), forms.ticked("is_paid")
        with store().work() as db:
            group = groups.make_group(db, by=the_person(), title=title, kind=kind, is_paid=is_paid, public_id=public_id, at=now())
    except Invalid as error:
        return _page(error), 422
    return redirect(url_for("groups.group", group_key=group.public_id, did="made"), code=303)


@blueprint.get("/<group_key>")
def group(group_key: str) -> Page:
    """Show a group: what it is getting ready for, who is in it, what is shared with it, and who sees what."""
    person = the_person()
    with store().look() as db:
        shown = the_group(db, person, group_key)
        members = groups.list_members(db, shown, asks=person)
        shared = list_shared(db, shown.id, viewer_id=person.id, on=her_day(), page=_asked_page())
        found = {"assignments": list_assignments(db, shown.id), "lets": groups.lets_see(db, shown, person)}
        may_give = roster.may_be_given(db, shown, by=person.id) if shown.is_led else {}
    did = request.args.get("did", "")
    return render_template("groups/group.html", group=shown, members=members, shared=shared, did=did, may_give=may_give, **found)


def _page(wrong: Invalid | None = None) -> str:
    with store().look() as db:
        listed, left = groups.list_groups(db, the_person()), list_left_behind(db, the_person().id)
    taken = forms.asked_id("taken") or 0
    return render_template("groups/all_groups.html", groups=listed, left=left, taken=taken, wrong=wrong, did=request.args.get("did", ""))


def _asked_page() -> int:
    return min(max(forms.asked_id("page") or 0, 0), 10_000)
