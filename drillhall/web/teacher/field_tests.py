"""Field tests of a group: the list, setting one, shutting it, releasing its results, calling it off."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from flask import redirect, render_template, request, url_for

from drillhall.acts.set_field_test import set_field_test as set_it
from drillhall.errors import Invalid
from drillhall.people import audit
from drillhall.people.permissions import the_led_group
from drillhall.practice.field_tests import keeping, setting
from drillhall.practice.field_tests.lengths import find_known
from drillhall.practice.shelf import list_sets
from drillhall.web import forms
from drillhall.web.session import dice, now, store, the_person
from drillhall.web.teacher.room import Page, blueprint, her_day
from drillhall.words import say

EXTRA_WORDS: Final = (
    ("0", say("as the others")),
    ("25", say("a quarter more")),
    ("50", say("half as much again")),
    ("100", say("twice the time")),
    ("900", say("ten times the time")),
    ("none", say("no limit")),
)


@blueprint.get("/<group_key>/field-tests")
def field_tests(group_key: str) -> Page:
    """List a group's field tests, and the pair sets out of which one may be set."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        listed = keeping.list_tests(db, group.id, at=now())
        sets = list_sets(db, the_person().id)
    return render_template("teacher/field_tests.html", group=group, tests=listed, sets=sets)


@blueprint.route("/<group_key>/field-tests/new/<int:set_id>", methods=["GET", "POST"])
def set_field_test(group_key: str, set_id: int) -> Page:
    """Set a field test out of a pair set."""
    if request.method == "GET":
        return _form(group_key, set_id)
    try:
        wanted = _wanted(set_id)
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            number = set_it(db, group, wanted, by=the_person().id, at=now(), dice=dice())
    except Invalid as error:
        return _form(group_key, set_id, error), 422
    return redirect(url_for("teacher.field_test", group_key=group_key, test_id=number), code=303)


@blueprint.post("/<group_key>/field-tests/<int:test_id>/shut")
def shut_field_test(group_key: str, test_id: int) -> Page:
    """Let nobody begin a test any more."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key)
        keeping.shut(db, group.id, test_id, at=now())
        audit.note(db, "field test shut", at=now(), by=the_person().id, subject=f"group {group.id}, test {test_id}")
    return _back(group_key, test_id)


@blueprint.post("/<group_key>/field-tests/<int:test_id>/release")
def release_field_test(group_key: str, test_id: int) -> Page:
    """Let sitters see their own results."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key)
        keeping.release(db, group.id, test_id, at=now())
        audit.note(db, "field test released", at=now(), by=the_person().id, subject=f"group {group.id}, test {test_id}")
    return _back(group_key, test_id)


@blueprint.post("/<group_key>/field-tests/<int:test_id>/off")
def call_off_field_test(group_key: str, test_id: int) -> Page:
    """Call a test off."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key)
        keeping.call_off(db, group.id, test_id, at=now())
        audit.note(db, "field test called off", at=now(), by=the_person().id, subject=f"group {group.id}, test {test_id}")
    return redirect(url_for("teacher.field_tests", group_key=group_key), code=303)


def _back(group_key: str, test_id: int) -> Page:
    return redirect(url_for("teacher.field_test", group_key=group_key, test_id=test_id), code=303)


def _form(group_key: str, set_id: int, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        offer = setting.the_offer(db, group.id, set_id, is_paid=group.is_paid, on=her_day())
        pair_ids = [one.pair.id for one in offer.pairs]
        known = find_known(db, group.id, pair_ids, kind=group.kind, is_paid=group.is_paid, at=now())
    here = now().astimezone(ZoneInfo(the_person().zone)).replace(second=0, microsecond=0, tzinfo=None)
    times = {"opens_at": here.isoformat()[:16], "until": (here + timedelta(days=7)).isoformat()[:16]}
    words = {"extra_words": EXTRA_WORDS, "field_odds": setting.FIELD_ODDS, "zone": the_person().zone, "enough": setting.ENOUGH}
    return render_template("teacher/set_field_test.html", group=group, offer=offer, known=known, times=times, wrong=wrong, **words)


def _wanted(set_id: int) -> setting.TestWanted:
    timed = bool(forms.text("minutes", most=40).strip())
    return setting.TestWanted(
        title=forms.text("title"),
        set_id=set_id,
        pairs=tuple(_pair(one) for one in dict.fromkeys(request.form.getlist("pair"))),
        per_form=forms.whole("per_form", say("Pictures a form")),
        opens_at=_moment("opens_at", say("When it opens")),
        until=_moment("until", say("When it shuts")),
        minutes=forms.whole("minutes", say("The time")) if timed else None,
        repeats=forms.ticked("repeats"),
        may_pause=forms.ticked("may_pause"),
        extras=dict(_extras()),
    )


def _pair(typed: str) -> setting.PairWanted:
    """Read a pair that was ticked, and how often its forms are shown: "even", or the rare form and one in how many."""
    if not _is_id(typed):
        raise Invalid(say("Choose pairs from the list."), field="pair")
    odds = forms.text(f"odds-{typed}", most=30) or "even"
    form_id, _, one_in = odds.partition(":")
    if odds != "even" and not (_is_id(form_id) and _is_id(one_in)):
        raise Invalid(say("Choose how often each form is shown from the list."), field=f"odds-{typed}")
    return setting.PairWanted(int(typed)) if odds == "even" else setting.PairWanted(int(typed), int(form_id), int(one_in))


def _extras() -> list[tuple[int, int | None]]:
    """Read who has more time: percent, or None for no limit; whoever has the time of the others is left out."""
    found: list[tuple[int, int | None]] = []
    for name in request.form:
        _, is_extra, number = name.partition("extra-")
        if is_extra and _is_id(number) and (said := forms.text(name, most=10)) != "0":
            if said != "none" and not _is_id(said):
                raise Invalid(say("Choose how much more time from the list."), field=name)
            found.append((int(number), None if said == "none" else int(said)))
    return found


def _is_id(typed: str) -> bool:
    return typed.isascii() and typed.isdecimal() and len(typed) < 11 and int(typed) <= forms.LARGEST_ID


def _moment(field: str, label: str) -> datetime:
    """Read a day and time of day where whoever asks is."""
    try:
        typed = datetime.fromisoformat(forms.text(field, most=40).strip())
    except ValueError:
        raise Invalid(say("{label} must be a day and a time, such as 2031-03-09T14:00.", label=label), field=field) from None
    if typed.tzinfo is not None or not 1970 < typed.year < 9999:
        raise Invalid(say("{label} must be a day and a time, such as 2031-03-09T14:00.", label=label), field=field)
    return typed.replace(tzinfo=ZoneInfo(the_person().zone))
