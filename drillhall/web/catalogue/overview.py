"""A catalogue made, looked at as a whole, described, and checked."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.catalogues.editing import asked, known, things
from drillhall.catalogues.editing.changing import Act, Stale
from drillhall.catalogues.editing.fields import HEAD
from drillhall.catalogues.editing.making import make_catalogue
from drillhall.catalogues.editing.reviewing import review
from drillhall.catalogues.editing.telling import form_of
from drillhall.errors import Invalid
from drillhall.practice.in_use import groups_using
from drillhall.web.catalogue.room import Page, blueprint, her_day, keep, kept, look, typed
from drillhall.web.session import now, store, the_person

HEAD_SCOPE = HEAD[:5]


@blueprint.get("/new")
def new() -> Page:
    """Show the form that makes a catalogue."""
    return _make_page()


@blueprint.post("/new")
def make() -> Page:
    """Make an empty catalogue, and go on to it."""
    try:
        values = asked.read_asked(asked.HEAD, typed())
        with store().work() as db:
            key = make_catalogue(db, values, by=the_person().id, at=now())
    except Invalid as wrong:
        return _make_page(wrong), 422
    return redirect(url_for("catalogue.catalogue", key=key), code=303)


@blueprint.get("/<key>")
def catalogue(key: str) -> Page:
    """Show a catalogue as a whole: its forms, traits, pairs and pair sets, in order."""
    opened = look(key)
    with store().look() as db:
        ids = known.form_ids(db, opened.id)
        retired = request.args.get("retired")
        used = groups_using(db, opened.id, person_id=the_person().id, on=her_day(), set_key=retired) if retired else None
    forms = {form.key: form_of(opened.said, form, ids[form.key]) for form in opened.said.forms}
    return render_template("catalogue/catalogue.html", key=key, said=opened.said, forms=forms, ids=ids, used=used)


@blueprint.get("/<key>/about")
def about(key: str) -> Page:
    """Show what a catalogue says of itself, to be changed."""
    return _about_page(key)


@blueprint.post("/<key>/about")
def change_about(key: str) -> Page:
    """Change what a catalogue says of itself."""
    return kept(
        lambda: _describe(key),
        lambda **told: _about_page(key, **told),
        "catalogue.catalogue",
        key=key,
    )


@blueprint.get("/<key>/checks")
def checks(key: str) -> Page:
    """Tell what is wrong with a catalogue as it stands, and what it still wants."""
    opened = look(key)
    return render_template("catalogue/checks.html", key=key, said=opened.said, report=review(opened.said))


def _describe(key: str) -> None:
    values = asked.read_asked(asked.HEAD, typed())
    keep(key, lambda said: things.change_head(said, values), Act("changed"), HEAD_SCOPE)


def _make_page(wrong: Invalid | None = None) -> str:
    return render_template("catalogue/new.html", fields=asked.HEAD, wrong=wrong)


def _about_page(key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened = look(key)
    with store().look() as db:
        used = groups_using(db, opened.id, person_id=the_person().id, on=her_day())
    version = opened.version(HEAD_SCOPE)
    told = {"fields": asked.HEAD, "version": version, "used": used, "wrong": wrong, "stale": stale}
    return render_template("catalogue/about.html", key=key, said=opened.said, **told)
