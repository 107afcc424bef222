"""What is kept about pupils who have no address of their own: for their teacher, who answers for them beside themselves."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.errors import Invalid
from drillhall.people import pupils as people
from drillhall.people.permissions import the_taught_class
from drillhall.web.account_privacy import room
from drillhall.web.account_privacy.room import Page, Whom, blueprint
from drillhall.web.session import store, the_person


@blueprint.get("/groups/<group_key>/pupils")
def pupils(group_key: str) -> Page:
    """List the pupils of a class whose things its teacher may take out and have erased."""
    with store().look() as db:
        group = the_taught_class(db, the_person(), group_key, archived=True)
        listed = people.list_pupils(db, group, by=the_person().id)
    return render_template("account/pupils.html", group=group, pupils=listed, erased="erased" in request.args)


@blueprint.get("/groups/<group_key>/pupils/<int:membership_id>")
def pupil_kept(group_key: str, membership_id: int) -> Page:
    """Say what is kept about a pupil."""
    return room.kept_page(_pupil(group_key, membership_id))


@blueprint.post("/groups/<group_key>/pupils/<int:membership_id>/export")
def export_pupil(group_key: str, membership_id: int) -> Page:
    """Write down that a pupil's things are taken out, and go on to them."""
    room.note_export(_pupil(group_key, membership_id))
    return redirect(url_for("privacy.pupil_everything", group_key=group_key, membership_id=membership_id), code=303)


@blueprint.get("/groups/<group_key>/pupils/<int:membership_id>/everything.zip")
def pupil_everything(group_key: str, membership_id: int) -> Page:
    """Give a teacher everything about a pupil."""
    return room.noted_zip(_pupil(group_key, membership_id))


@blueprint.route("/groups/<group_key>/pupils/<int:membership_id>/erase", methods=["GET", "POST"])
def erase_pupil(group_key: str, membership_id: int) -> Page:
    """Erase a pupil, once her teacher has shown the teacher's own passphrase."""
    whom = _pupil(group_key, membership_id)
    if request.method == "GET":
        return room.erase_page(whom)
    try:
        room.erase(whom)
    except Invalid as error:
        return room.erase_page(whom, error), 422
    return redirect(url_for("privacy.pupils", group_key=group_key, erased="yes"), code=303)


def _pupil(group_key: str, membership_id: int) -> Whom:
    with store().look() as db:
        group = the_taught_class(db, the_person(), group_key, archived=True)
        pupil = people.the_pupil(db, group, membership_id, by=the_person().id)
    doors = ("pupil_kept", "export_pupil", "erase_pupil")
    kept_url, export_url, erase_url = (url_for(f"privacy.{name}", group_key=group_key, membership_id=membership_id) for name in doors)
    return Whom(pupil.account_id, pupil.name, kept_url, export_url, erase_url, group_title=group.title)
