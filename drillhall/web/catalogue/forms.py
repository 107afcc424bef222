"""The pages on which a steward writes the forms of a catalogue."""

from __future__ import annotations

from typing import Any

from flask import render_template

from drillhall.catalogues.editing import asked, known, things
from drillhall.catalogues.editing.changing import Act, Edit, Opened, Stale
from drillhall.catalogues.folder import FolderForm
from drillhall.errors import Invalid
from drillhall.web.catalogue.room import Page, blueprint, keep, kept, look, typed
from drillhall.web.session import store
from drillhall.words import say


@blueprint.get("/<key>/forms/new")
def new_form(key: str) -> Page:
    """Show the form that adds a form."""
    return _new_page(key)


@blueprint.post("/<key>/forms/new")
def add_form(key: str) -> Page:
    """Add a form at the end."""
    return kept(lambda: _add(key), lambda **told: _new_page(key, **told), "catalogue.catalogue", key=key, _anchor="forms")


@blueprint.get("/<key>/forms/<form_key>")
def form(key: str, form_key: str) -> Page:
    """Show what a catalogue says of a form, to be changed."""
    return _page(key, form_key)


@blueprint.post("/<key>/forms/<form_key>")
def change_form(key: str, form_key: str) -> Page:
    """Change what a catalogue says of a form."""
    return kept(lambda: _change(key, form_key), lambda **told: _page(key, form_key, **told), "catalogue.form", key=key, form_key=form_key)


def _add(key: str) -> None:
    values = asked.read_asked(asked.FORM, typed())
    with store().look() as db:
        used = known.used_keys(db, look(key).id, "forms")
    keep(key, lambda said: things.add_form(said, values, taken=used), Act("added"))


def _change(key: str, form_key: str) -> None:
    keep(key, _edit(look(key), form_key), Act("changed", f"forms/{form_key}"), _scope(form_key))


def _edit(opened: Opened, form_key: str) -> Edit:
    """Return the change that was typed; where pictures show the form, what makes it this form stays."""
    old, given = things.the_thing(opened.said.forms, form_key, "form"), typed()
    if _is_fixed(opened, form_key):
        fixed = {name: str(getattr(old, name)) for name in things.IDENTITY}
        if any(given.get(name, value).strip() != value for name, value in fixed.items()):
            raise Invalid(
                say("Pictures show this form already, so what makes it this form stays. Add another form instead."), field="life_stage"
            )
        given |= fixed
    values: dict[str, Any] = asked.read_asked(asked.FORM, given)
    return lambda said: things.change_form(said, form_key, values)


def _is_fixed(opened: Opened, form_key: str) -> bool:
    with store().look() as db:
        return known.has_pictures(db, known.form_ids(db, opened.id)[form_key])


def _scope(form_key: str) -> tuple[str, ...]:
    return tuple(f"forms/{form_key}/{field.name}" for field in asked.FORM)


def _new_page(key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    said = look(key).said
    blank = FolderForm("", "", "", "")
    return render_template("catalogue/form.html", key=key, said=said, form=blank, fields=asked.FORM, wrong=wrong, stale=stale)


def _page(key: str, form_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened = look(key)
    found = things.the_thing(opened.said.forms, form_key, "form")
    fixed = things.IDENTITY if _is_fixed(opened, form_key) else ()
    pairs = tuple(pair for pair in opened.said.pairs if form_key in pair.forms)
    return render_template(
        "catalogue/form.html",
        key=key,
        said=opened.said,
        form=found,
        fields=asked.FORM,
        fixed=fixed,
        pairs=pairs,
        version=opened.version(_scope(form_key)),
        wrong=wrong,
        stale=stale,
    )
