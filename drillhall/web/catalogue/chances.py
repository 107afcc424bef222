"""The table of forms and traits: as a whole to read, and one trait at a time to write."""

from __future__ import annotations

from collections.abc import Iterable

from flask import render_template

from drillhall.catalogues.editing import things
from drillhall.catalogues.editing.changing import Act, Stale
from drillhall.catalogues.editing.measuring import say_measures
from drillhall.catalogues.folder import FolderCatalogue, FolderForm, FolderTrait
from drillhall.core.measure_words import measure_in_words
from drillhall.errors import Invalid
from drillhall.web.catalogue.cells import cell_words, read_cells
from drillhall.web.catalogue.measures import field_values, read_measures
from drillhall.web.catalogue.room import Page, blueprint, keep, kept, look, typed


@blueprint.get("/<key>/table")
def table(key: str) -> Page:
    """Show what is said of every form by every trait."""
    said = look(key).said
    return render_template("catalogue/table.html", key=key, said=said, cells=cell_words(said), measured_words=_measured)


def _measured(form: FolderForm, trait: FolderTrait) -> str:
    return measure_in_words(form.measures[trait.key], trait.unit)


@blueprint.get("/<key>/traits/<trait_key>/forms")
def chances(key: str, trait_key: str) -> Page:
    """Show how often every form shows the states of a trait, and what it measures, to be changed."""
    return _page(key, trait_key)


@blueprint.post("/<key>/traits/<trait_key>/forms")
def say_chances(key: str, trait_key: str) -> Page:
    """Say how often forms show the states of a trait, and what they measure."""
    return kept(
        lambda: _say(key, trait_key),
        lambda **told: _page(key, trait_key, **told),
        "catalogue.table",
        key=key,
    )


def _say(key: str, trait_key: str) -> None:
    given = typed()
    cells = {cell: chance for cell, chance in read_cells(given).items() if cell[1] == trait_key}
    measures = read_measures(given, trait_key)
    opened = look(key).said
    things.the_thing(opened.traits, trait_key, "trait")
    scope = _scope(trait_key, opened.forms)

    def edit(said: FolderCatalogue) -> FolderCatalogue:
        changed = things.say_chances(said, cells)
        return say_measures(changed, trait_key, measures) if measures else changed

    keep(key, edit, Act("changed", f"traits/{trait_key}"), scope)


def _scope(trait_key: str, forms: Iterable[FolderForm]) -> tuple[str, ...]:
    return tuple(f"forms/{form.key}/{part}/{trait_key}" for form in forms for part in ("traits", "measures")) or ("forms",)


def _page(key: str, trait_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened = look(key)
    found = things.the_thing(opened.said.traits, trait_key, "trait")
    version = opened.version(_scope(trait_key, opened.said.forms))
    return render_template(
        "catalogue/chances.html",
        key=key,
        said=opened.said,
        trait=found,
        cells=cell_words(opened.said),
        measures=field_values(opened.said),
        version=version,
        wrong=wrong,
        stale=stale,
    )
