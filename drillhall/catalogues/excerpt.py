"""Takes one pair set out of a catalogue, as a catalogue of its own: what the set needs, and nothing beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from drillhall.catalogues.folder import FolderCatalogue, FolderSet
from drillhall.core.values import Use
from drillhall.errors import NotFound
from drillhall.words import say

LONGEST_KEY: Final = 80


def excerpt(said: FolderCatalogue, set_key: str) -> FolderCatalogue:
    """Return a catalogue of one set: its pairs with their thirds, the forms and traits that those name, and pictures of the forms.

    Pictures that are held out stay where they are: whoever had them could test nobody on them any more. Raises NotFound where there
    is no such set.
    """
    found = next((one for one in said.sets if one.key == set_key), None)
    if found is None:
        raise NotFound(say("There is no such pair set."))
    wanted = {pair for stage in found.stages for pair in stage.pairs}
    pairs = tuple(pair for pair in said.pairs if pair.forms in wanted)
    keys = {form for pair in pairs for form in (*pair.forms, *(third.form for third in pair.thirds))}
    forms = tuple(form for form in said.forms if form.key in keys)
    used = {trait for form in forms for trait in (*form.traits, *form.measures)} | {third.trait for pair in pairs for third in pair.thirds}
    kept = tuple(trait for trait in said.traits if trait.key in used)
    known = {trait.key for trait in kept}
    pictures = (one for one in said.pictures if one.form in keys and one.use != Use.HELD_OUT)
    concepts = {form.taxon_concept_id for form in forms}
    return replace(
        said,
        key=key_of(said, found),
        title=found.title,
        note=found.note or said.note,
        traits=kept,
        forms=forms,
        pairs=pairs,
        sets=(found,),
        mappings=tuple(one for one in said.mappings if one.subject in concepts),
        pictures=tuple(replace(one, marks=tuple(mark for mark in one.marks if mark.trait in known)) for one in pictures),
    )


def key_of(said: FolderCatalogue, found: FolderSet) -> str:
    """Return the key under which a set stands as a catalogue of its own, which is also the name of its file."""
    return f"{said.key}-{found.key.replace('_', '-')}"[:LONGEST_KEY].rstrip("-")
