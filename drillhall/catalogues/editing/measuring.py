"""The edit that says what forms measure; it returns the catalogue as it would be, and nothing is stored here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from drillhall.catalogues.editing.things import the_thing
from drillhall.catalogues.folder import FolderCatalogue, FolderForm
from drillhall.core.values import Measured
from drillhall.errors import Invalid
from drillhall.words import say


def say_measures(said: FolderCatalogue, trait: str, measures: Mapping[str, Measured | None]) -> FolderCatalogue:
    """Say what forms measure by a trait, by form key; None says nothing of it."""
    if not measures.keys() <= {form.key for form in said.forms} or not the_thing(said.traits, trait, "trait").unit:
        raise Invalid(say("A form or a unit of this table was retired meanwhile. Open the page again."))
    return replace(said, forms=tuple(_measured(form, trait, measures[form.key]) if form.key in measures else form for form in said.forms))


def _measured(form: FolderForm, trait: str, measured: Measured | None) -> FolderForm:
    others = {key: one for key, one in form.measures.items() if key != trait}
    return replace(form, measures=others if measured is None else {**others, trait: measured})
