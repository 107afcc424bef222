"""What those who ask open questions see: making one, its link and block to copy, and what the audience mixes up."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from flask import redirect, render_template, request, url_for

from drillhall.errors import Invalid
from drillhall.people.permissions import the_led_group
from drillhall.post import outbox
from drillhall.practice.open_questions import asking, keeping, subscribing
from drillhall.practice.shelf import list_sets
from drillhall.web import forms
from drillhall.web.open_questions.room import Page, blueprint
from drillhall.web.session import dice, now, outside_address, store, the_person
from drillhall.words import say


@blueprint.get("/groups/<group_key>/open-questions")
def questions(group_key: str) -> Page:
    """List a group's open questions, with the form that makes one."""
    return _list(group_key)


@blueprint.post("/groups/<group_key>/open-questions")
def make(group_key: str) -> Page:
    """Make an open question."""
    person, public_id = the_person(), str(UUID(int=dice().getrandbits(128), version=4))
    made = {"zone": person.zone, "public_id": public_id, "seed": f"{dice().getrandbits(256):064x}"}
    try:
        set_id, title, sites = forms.chosen("set", say("The pair set")), forms.text("title"), forms.text("sites", most=2000)
        host = urlsplit(outside_address("")).hostname or ""
        with store().work() as db:
            group = the_led_group(db, person, group_key)
            keeping.make_question(db, group_id=group.id, pair_set_id=set_id, title=title, sites=sites, host=host, at=now(), **made)
    except Invalid as wrong:
        return _list(group_key, wrong), 422
    return redirect(url_for("open.led", group_key=group_key, public_id=public_id), code=303)


@blueprint.get("/groups/<group_key>/open-questions/<public_id>")
def led(group_key: str, public_id: str) -> Page:
    """Show a question to those who ask it."""
    return _led(group_key, public_id)


@blueprint.post("/groups/<group_key>/open-questions/<public_id>")
def change(group_key: str, public_id: str) -> Page:
    """Change a question's title and the sites that may frame its answers."""
    try:
        title, sites = forms.text("title"), forms.text("sites", most=2000)
        with store().work() as db:
            keeping.change_question(db, the_led_group(db, the_person(), group_key).id, public_id, title=title, sites=sites)
    except Invalid as wrong:
        return _led(group_key, public_id, wrong), 422
    return redirect(url_for("open.led", group_key=group_key, public_id=public_id, did="changed"), code=303)


@blueprint.post("/groups/<group_key>/open-questions/<public_id>/end")
def end(group_key: str, public_id: str) -> Page:
    """Ask a question no more."""
    with store().work() as db:
        keeping.end_question(db, the_led_group(db, the_person(), group_key).id, public_id, at=now())
    return redirect(url_for("open.led", group_key=group_key, public_id=public_id), code=303)


def _list(group_key: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        asked, sets = keeping.list_questions(db, group.id, at=now()), list_sets(db, the_person().id)
    choices = [(one.id, say("{title}, from {catalogue}", title=one.title, catalogue=one.catalogue)) for one in sets]
    return render_template("open/questions.html", group=group, questions=asked, set_choices=choices, wrong=wrong, zone=the_person().zone)


def _led(group_key: str, public_id: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        found = keeping.the_question_of(db, group.id, public_id, at=now())
        stock = asking.the_stock(db, found) if found.is_running else None
        shown = asking.find_day(db, stock, found.today) if stock else None
        has_yesterday = stock is not None and asking.find_day(db, stock, found.today - timedelta(days=1)) is not None
        lacking = asking.list_lacking(db, stock, viewer_id=the_person().id) if stock and not shown else ()
        subscribed, refused = subscribing.count_subscribed(db, found), outbox.count_refused(db, found.public_id)
        mixed = asking.how_all_fell(db, stock) if stock else ()
    here: dict[str, Any] = {"group": group, "question": found, "outside": outside_address, "has_yesterday": has_yesterday}
    here |= {"lacking": lacking, "shown": shown, "mixed": mixed, "subscribed": subscribed, "refused": refused}
    return render_template("open/led.html", wrong=wrong, did=request.args.get("did", ""), **here)
