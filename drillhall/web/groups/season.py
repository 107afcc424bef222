"""The season of a group: the year's weeks to look at, to print and to plan."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.core.weeks import FIRST_YEAR, LAST_YEAR, Week, read_week
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people.permissions import the_group, the_led_group
from drillhall.practice import seasons
from drillhall.practice.assigning import list_assignments
from drillhall.practice.shelf import list_sets
from drillhall.web import forms
from drillhall.web.groups.room import Page, blueprint, her_day, left_on_shelf, read_purpose
from drillhall.web.session import now, store, the_person
from drillhall.words import say


@blueprint.route("/<group_key>/season", methods=["GET", "POST"])
def season(group_key: str) -> Page:
    """Show a year of a group; whoever leads it puts something into it."""
    if request.method == "GET":
        return _page(group_key, _asked_year())
    try:
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            said = _said()
            seasons.plan_entry(db, group.id, said, by=the_person().id, today=her_day(), at=now())
    except Invalid as wrong:
        return _page(group_key, _asked_year(), wrong), 422
    except Conflict as wrong:
        return _page(group_key, _asked_year(), Invalid(wrong.sentence, field="purpose")), 409
    return redirect(url_for("groups.season", group_key=group_key, year=said.first.year), code=303)


@blueprint.get("/<group_key>/season/print")
def season_sheet(group_key: str) -> Page:
    """Show a year of a group, to print."""
    with store().look() as db:
        group = the_group(db, the_person(), group_key)
        shown = seasons.the_season(db, group.id, _asked_year())
    return render_template("groups/season_sheet.html", group=group, season=shown, this_week=Week.of(her_day()))


@blueprint.post("/<group_key>/season/repeat")
def repeat_season(group_key: str) -> Page:
    """Repeat the plan of the year before."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key)
        year = _year(forms.whole("year", say("The year")))
        made, taken = seasons.repeat_year(db, group.id, year, by=the_person().id, today=her_day(), at=now())
    return redirect(url_for("groups.season", group_key=group_key, year=year, made=made, taken=taken), code=303)


@blueprint.route("/<group_key>/season/<int:entry_id>", methods=["GET", "POST"])
def season_entry(group_key: str, entry_id: int) -> Page:
    """Change the weeks and words of an entry."""
    if request.method == "GET":
        return _entry_page(group_key, entry_id)
    try:
        first, last = _weeks()
        with store().work() as db:
            group = the_led_group(db, the_person(), group_key)
            seasons.change_entry(db, group.id, entry_id, first=first, last=last, words=forms.text("words"), at=now())
    except Invalid as wrong:
        return _entry_page(group_key, entry_id, wrong), 422
    return redirect(url_for("groups.season", group_key=group_key, year=first.year), code=303)


@blueprint.post("/<group_key>/season/<int:entry_id>/out")
def end_season_entry(group_key: str, entry_id: int) -> Page:
    """Take an entry out of a season."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key)
        year = seasons.the_entry(db, group.id, entry_id).first.year
        seasons.take_out(db, group.id, entry_id, at=now())
    return redirect(url_for("groups.season", group_key=group_key, year=year), code=303)


def _said() -> seasons.EntrySaid:
    first, last = _weeks()
    assignment_id, pair_set_id = read_purpose(say("Choose what the group drills in these weeks."))
    return seasons.EntrySaid(forms.text("kind", most=20), first, last, forms.text("words"), assignment_id, pair_set_id)


def _weeks() -> tuple[Week, Week]:
    first = read_week(forms.text("first_week", most=20), field="first_week", label=say("The first week"))
    typed = forms.text("last_week", most=20)
    return first, read_week(typed, field="last_week", label=say("The last week")) if typed.strip() else first


def _asked_year() -> int:
    year = forms.asked_id("year")
    return _year(year) if year is not None else Week.of(her_day()).year


def _year(year: int) -> int:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise NotFound(say("There are no seasons but from {first_year} to {last_year}.", first_year=FIRST_YEAR, last_year=LAST_YEAR))
    return year


def _page(group_key: str, year: int, wrong: Invalid | None = None) -> str:
    person = the_person()
    with store().look() as db:
        group = the_group(db, person, group_key)
        may_plan = group.is_led and group.retired_at is None
        shown = seasons.the_season(db, group.id, year)
        given = list_assignments(db, group.id) if may_plan else ()
        choices = {"assignments": given, "sets": left_on_shelf(list_sets(db, person.id), given) if may_plan else ()}
    told = {"may_plan": may_plan, "wrong": wrong, "this_week": Week.of(her_day()), "kinds": list(seasons.KINDS.items())}
    return render_template("groups/season.html", group=group, season=shown, repeated=_repeated(), **told, **choices)


def _entry_page(group_key: str, entry_id: int, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        entry = seasons.the_entry(db, group.id, entry_id)
    return render_template("groups/season_entry.html", group=group, entry=entry, kind_word=seasons.KINDS[entry.kind], wrong=wrong)


def _repeated() -> tuple[int, int] | None:
    made, taken = forms.asked_id("made"), forms.asked_id("taken")
    return (made, taken) if made is not None and taken is not None else None
