"""The keeper's pages: the state of the hall, its people, and who may join."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Final

from flask import Blueprint, redirect, render_template, request, url_for
from flask import session as form_session
from werkzeug.wrappers import Response

from drillhall import __version__
from drillhall.errors import Invalid
from drillhall.people import accounts, audit, demanding, hall, headless, invitations, retention, second_step
from drillhall.post import jobs, outbox
from drillhall.web import forms, session
from drillhall.web.faults import list_faults
from drillhall.web.session import now, store, the_person
from drillhall.words import say

blueprint: Final = Blueprint("keeper", __name__, url_prefix="/hall")
Page = str | tuple[str, int] | Response

MOST_FILES_COUNTED: Final = 50_000


@blueprint.get("")
def state() -> Page:
    """Show how the hall is."""
    return _state_page()


@blueprint.post("/second-step")
def demand_second_step() -> Page:
    """Demand a second step of whoever keeps the hall, leads or teaches, or leave it to them."""
    try:
        with store().work() as db:
            if forms.text("demand") == "yes":
                demanding.demand(db, days=forms.whole("days", say("Days of grace")), by=the_person(), at=now())
            else:
                demanding.end_demand(db, by=the_person(), at=now())
    except Invalid as error:
        return _state_page(error), 422
    return redirect(url_for("keeper.state"), code=303)


def _state_page(wrong: Invalid | None = None) -> str:
    settings = session.settings()
    return render_template(
        "keeper/state.html",
        hall_version=__version__,
        settings=settings,
        is_sqlite=store().is_sqlite,
        used=_folder_bytes(settings.data_folder),
        free=shutil.disk_usage(settings.data_folder).free,
        faults=list_faults(settings.log_file),
        wrong=wrong,
        usual_days=demanding.USUAL_DAYS,
        longest_days=demanding.LONGEST_DAYS,
        ages=hall.AGES,
        **_from_rows(),
    )


def _from_rows() -> dict[str, object]:
    """What the page tells from the database, by the names in its template."""
    with store().look() as db:
        return {
            "counts": hall.count_everything(db),
            "is_open": hall.is_open(db),
            "least_age": hall.least_age(db),
            "demand": demanding.find_demand(db),
            "has_second_step": second_step.is_on(db, the_person().id),
            "post": outbox.the_state(db),
            "backup": hall.last_backup(db),
            "failed": [job for job in jobs.list_jobs(db) if job.fault],
        }


@blueprint.get("/log")
def audit_log() -> Page:
    """Show who did what to what is others', a page at a time, the latest first."""
    wanted = request.args.get("act", "")
    act = wanted if wanted in (*audit.ON_OTHERS, *audit.OWN) else ""
    with store().look() as db:
        lines = audit.list_noted(db, act=act, before=forms.asked_id("before"))
        days = retention.the_retention(db).in_words()["audit"]
    older = lines[-1].id if len(lines) == audit.PAGE else None
    return render_template("keeper/audit_log.html", lines=lines, act=act, acts=(audit.ON_OTHERS, audit.OWN), older=older, days=days)


@blueprint.get("/people")
def people() -> Page:
    """List everybody's account, and the groups that nobody leads any more."""
    with store().look() as db:
        listed, leaderless = accounts.list_accounts(db), headless.list_headless(db)
    return render_template("keeper/people.html", accounts=listed, leaderless=leaderless)


@blueprint.post("/people/<int:account_id>/close")
def close_account(account_id: int) -> Page:
    """Close an account and sign its devices out."""
    with store().work() as db:
        accounts.retire_account(db, account_id, by=the_person(), at=now())
    return redirect(url_for("keeper.people"), code=303)


@blueprint.post("/groups/<int:group_id>/members/<int:membership_id>/lead")
def let_lead(group_id: int, membership_id: int) -> Page:
    """Let somebody lead a group that nobody leads."""
    with store().work() as db:
        headless.let_lead(db, group_id, membership_id, by=the_person(), at=now())
    return redirect(url_for("keeper.people"), code=303)


@blueprint.route("/invitations", methods=["GET", "POST"])
def invite() -> Page:
    """List the invitations and make one; its link is shown once, on the page after."""
    if request.method == "GET":
        return _invitations_page()
    try:
        with store().work() as db:
            places, days = forms.whole("places", say("Places")), forms.whole("days", say("Days"))
            note = forms.text("note")
            token = invitations.invite(db, by=the_person(), at=now(), places=places, days=days, note=note)
    except Invalid as error:
        return _invitations_page(error), 422
    # The link is stored nowhere, so it travels to the next page in the keeper's own browser.
    form_session["invitation"] = token
    return redirect(url_for("keeper.invite"), code=303)


@blueprint.post("/invitations/<int:invitation_id>/end")
def end_invitation(invitation_id: int) -> Page:
    """End an invitation before its time."""
    with store().work() as db:
        invitations.end_invitation(db, invitation_id, by=the_person(), at=now())
    return redirect(url_for("keeper.invite"), code=303)


@blueprint.post("/sign-up")
def sign_up() -> Page:
    """Let anybody join, or nobody without an invitation."""
    is_open = forms.text("open") == "yes"
    with store().work() as db:
        hall.set_open(db, is_open=is_open)
        audit.note(db, "hall opened to all" if is_open else "hall joined by invitation", at=now(), by=the_person().id)
    return redirect(url_for("keeper.state"), code=303)


@blueprint.post("/least-age")
def set_least_age() -> Page:
    """Say from what age on one joins without a teacher or leader."""
    try:
        with store().work() as db:
            hall.set_least_age(db, forms.whole("years", say("Years")), by=the_person(), at=now())
    except Invalid as error:
        return _state_page(error), 422
    return redirect(url_for("keeper.state"), code=303)


def _invitations_page(wrong: Invalid | None = None) -> str:
    token = form_session.pop("invitation", None)
    with store().look() as db:
        listed = invitations.list_invitations(db)
    link = session.outside_address(url_for("account.join", token=token)) if token else ""
    return render_template("keeper/invite.html", invitations=listed, link=link, wrong=wrong, at=now())


def _folder_bytes(folder: Path) -> int | None:
    """Return what a folder's files weigh together, or None where they are too many to count while somebody waits."""
    total = 0
    for number, entry in enumerate(path for where, _, names in os.walk(folder) for path in (os.path.join(where, name) for name in names)):
        if number >= MOST_FILES_COUNTED:
            return None
        try:
            total += os.stat(entry).st_size
        except FileNotFoundError:  # swept while we counted
            continue
    return total
