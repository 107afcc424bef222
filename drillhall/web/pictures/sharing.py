"""Sharing one's own pictures with one's groups: one picture's page, and many at once from the list."""

from __future__ import annotations

from collections.abc import Sequence

from flask import redirect, render_template, request, url_for

from drillhall.errors import Invalid, NotFound
from drillhall.people import groups
from drillhall.people.group import Group
from drillhall.people.permissions import the_group
from drillhall.pictures import offers
from drillhall.pictures import shared as with_groups
from drillhall.pictures import sharing as shares
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import now, storage, store, the_person
from drillhall.words import say


@blueprint.get("/my-pictures/<public_id>/sharing")
def sharing(public_id: str) -> Page:
    """Show with whom one's own picture is shared, and to which catalogues it is offered."""
    return sharing_page(public_id)


@blueprint.post("/my-pictures/<public_id>/sharing")
def share_one(public_id: str) -> Page:
    """Share one's own picture with a group."""
    try:
        _, told = _share([public_id])
        if told.refused:
            raise Invalid(told.refused[0].why, field="group")
    except Invalid as error:
        return sharing_page(public_id, error), 422
    return redirect(url_for("pictures.sharing", public_id=public_id, did="shared"), code=303)


@blueprint.post("/my-pictures/<public_id>/sharing/<group_key>/end")
def end_share(public_id: str, group_key: str) -> Page:
    """Stop sharing one's own picture with a group."""
    with store().work() as db:
        shares.end_share(db, owner_id=the_person().id, public_id=public_id, group_key=group_key, at=now())
    return redirect(url_for("pictures.sharing", public_id=public_id, did="ended"), code=303)


@blueprint.post("/my-pictures/shared-with/<group_key>/end")
def end_shares(group_key: str) -> Page:
    """Take all one's pictures back from a group, whether or not one is still in it."""
    with store().work() as db:
        group_id = with_groups.find_left_behind(db, the_person().id, group_key)
        if group_id is None:
            raise NotFound(say("You share no pictures with such a group."))
        taken = with_groups.end_shares(db, owner_id=the_person().id, group_id=group_id, at=now())
    return redirect(url_for("groups.all_groups", did="taken", taken=taken), code=303)


@blueprint.post("/my-pictures/share")
def share() -> Page:
    """Share the ticked pictures with a group; where some may not be, say which and why, and what would mend it."""
    try:
        group, told = _share(request.form.getlist("picture"))
    except Invalid as error:
        return render_template("pictures/shared.html", group=None, told=None, groups=_groups(), wrong=error), 422
    if told.refused:
        return render_template("pictures/shared.html", group=group, told=told, groups=_groups(), wrong=None), 422
    return redirect(url_for("groups.group", group_key=group.public_id, did="shared"), code=303)


@blueprint.app_context_processor
def to_share_with() -> dict[str, object]:
    """Let any list of one's own pictures ask with which groups they may be shared."""
    return {"share_groups": _groups}


def _share(public_ids: Sequence[str]) -> tuple[Group, shares.Sharing]:
    """Share pictures one by one, each kept by itself, so that many do not make the hall wait."""
    person, key, agrees = the_person(), forms.text("group", most=40), forms.ticked("agrees")
    if not key:
        raise Invalid(say("Choose the group."), field="group")
    with store().look() as db:
        group = the_group(db, person, key)
        wanted = shares.check_many(public_ids)
    told = shares.Sharing()
    for public_id in wanted:
        with store().work() as db:
            one = [public_id]
            done = shares.share_pictures(db, storage(), one, owner_id=person.id, group_id=group.id, agrees=agrees, on=her_day(), at=now())
        told = told.and_also(done)
    return group, told


def sharing_page(public_id: str, wrong: Invalid | None = None) -> str:
    """Return the page of one's own picture's groups and catalogues, with what was wrong."""
    person = the_person()
    with store().look() as db:
        shared = shares.list_shared_with(db, owner_id=person.id, public_id=public_id, on=her_day())
        needs = shares.needs_agreement(db, owner_id=person.id, public_id=public_id)
        offered = offers.list_offers_of(db, owner_id=person.id, public_id=public_id)
        to_offer = offers.list_catalogues_for(db, owner_id=person.id, public_id=public_id, on=her_day())
    known = {one.public_id for one in shared}
    left = tuple(one for one in _groups() if one.public_id not in known)
    return render_template(
        "pictures/sharing.html",
        public_id=public_id,
        shared=shared,
        groups=left,
        needs_agreement=needs,
        offered=offered,
        to_offer=to_offer,
        wrong=wrong,
        did=request.args.get("did", ""),
    )


def _groups() -> tuple[Group, ...]:
    with store().look() as db:
        return tuple(one.group for one in groups.list_groups(db, the_person()) if one.group.retired_at is None)
