"""The list of a class: who is on it, a new one read and shown, and carried out once it is confirmed."""

from __future__ import annotations

from typing import Final

from flask import redirect, render_template, request, url_for

from drillhall.errors import BadRoster, Invalid
from drillhall.people import limits, roster_slips
from drillhall.people import roster as rosters
from drillhall.people.permissions import the_taught_class
from drillhall.people.roster_lists import read_list
from drillhall.people.roster_rows import Entry
from drillhall.people.roster_zip import MOST_ZIP_BYTES, looks_zipped, read_zip
from drillhall.web import forms
from drillhall.web.session import now, store, the_person
from drillhall.web.teacher.room import Page, blueprint, her_day
from drillhall.web.teacher.slips import keep_key, make_some, the_key
from drillhall.words import say

MOST_PASTED: Final = 100_000


@blueprint.route("/<group_key>/roster", methods=["GET", "POST"])
def roster(group_key: str) -> Page:
    """Show the list of a class, and read a new one, of which nothing is carried out yet."""
    if request.method == "GET":
        return _page(group_key)
    try:
        with store().look() as db:
            group = the_taught_class(db, the_person(), group_key)
        entries = _sent()
        with store().work() as db:
            limits.spend_try(db, limits.CLASS_LIST, str(the_person().id), at=now())
        with store().work() as db:
            rosters.keep_draft(db, group, entries, by=the_person(), at=now())
    except Invalid as error:
        return _page(group_key, error), 422
    return redirect(url_for("teacher.roster_draft", group_key=group_key, adds=_adds(forms.ticked("adds"))), code=303)


@blueprint.get("/<group_key>/roster/draft")
def roster_draft(group_key: str) -> Page:
    """Show what the list that waits would change."""
    adds_only = "adds" in request.args
    with store().look() as db:
        group = the_taught_class(db, the_person(), group_key)
        plan = rosters.the_plan(db, group, adds_only=adds_only, at=now())
    return render_template("teacher/roster_draft.html", group=group, plan=plan, adds_only=adds_only)


@blueprint.post("/<group_key>/roster/draft")
def confirm_roster(group_key: str) -> Page:
    """Carry the list out that was shown, as a whole or not at all, and make the first slips."""
    with store().look() as db:
        group = the_taught_class(db, the_person(), group_key)
    key, closed = the_key(group_key), roster_slips.unusable_hash()
    with store().work() as db:
        batch, adds_only = roster_slips.batch_of(key), forms.ticked("adds")
        wanted = rosters.carry_out(
            db, group, by=the_person(), mark=forms.text("mark"), adds_only=adds_only, batch=batch, closed_hash=closed, at=now()
        )
    if not wanted:
        return redirect(url_for("teacher.roster", group_key=group_key), code=303)
    keep_key(group_key, key)
    make_some(group, key)
    return redirect(url_for("teacher.slips", group_key=group_key), code=303)


@blueprint.post("/<group_key>/roster/draft/drop")
def drop_roster(group_key: str) -> Page:
    """Let a list go without carrying it out."""
    with store().work() as db:
        rosters.drop_draft(db, the_taught_class(db, the_person(), group_key))
    return redirect(url_for("teacher.roster", group_key=group_key), code=303)


@blueprint.post("/<group_key>/roster/<int:membership_id>/rest")
def rest_pupil(group_key: str, membership_id: int) -> Page:
    """Let one pupil rest: out of the class, not erased."""
    with store().work() as db:
        rosters.rest_one(db, the_taught_class(db, the_person(), group_key), membership_id, by=the_person(), at=now())
    return redirect(url_for("teacher.roster", group_key=group_key), code=303)


@blueprint.post("/<group_key>/roster/at-rest/<int:account_id>/back")
def bring_pupil_back(group_key: str, account_id: int) -> Page:
    """Bring one pupil back who rests."""
    with store().work() as db:
        rosters.bring_back_one(db, the_taught_class(db, the_person(), group_key), account_id, by=the_person(), at=now())
    return redirect(url_for("teacher.roster", group_key=group_key), code=303)


def _page(group_key: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_taught_class(db, the_person(), group_key, archived=True)
        told, given = rosters.the_roster(db, group, at=now()), rosters.may_be_given(db, group, by=the_person().id)
    faults = wrong.faults if isinstance(wrong, BadRoster) else ()
    return render_template("teacher/roster.html", group=group, roster=told, given=given, wrong=wrong, faults=faults)


def _sent() -> tuple[Entry, ...]:
    """Read the file, or what was pasted where there is none."""
    file = request.files.get("file")
    pasted = forms.text("list", most=MOST_PASTED)
    if file is None or not file.filename:
        if not pasted.strip():
            raise BadRoster(say("Paste a list, or choose a file."))
        return read_list(pasted.encode("utf-8", "replace"))
    raw = file.stream.read(MOST_ZIP_BYTES + 1)
    return read_zip(raw, class_said=forms.text("class"), on=her_day()) if looks_zipped(raw) else read_list(raw)


def _adds(adds_only: bool) -> str | None:
    return "yes" if adds_only else None
