"""Says how the concept of a form lies to another one, as a steward types it; each edit returns the catalogue as it would be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Final

from drillhall.catalogues.editing.asked import LINE, Asked
from drillhall.catalogues.folder import FolderCatalogue, FolderMapping
from drillhall.catalogues.reading.concepts import concept_id
from drillhall.core.terms import CONGRUENT, DISJOINT, MAPPING_RELATIONS
from drillhall.errors import Invalid, NotFound
from drillhall.words import Said, say

RELATIONS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        CONGRUENT: say("has the same boundary as"),
        "includes": say("is wider than"),
        "isIncludedIn": say("is narrower than"),
        "partiallyOverlaps": say("overlaps in part with"),
        DISJOINT: say("shares no member with"),
        "intersects": say("shares members, nobody says how many, with"),
    }
)
"""A relation of TCS 2 → the words for it between the names of two concepts."""


@dataclass(frozen=True, slots=True)
class ToldMapping:
    """One mapping as a page tells it: both ids, whose names stand beside them where this catalogue has any, the relation and its source."""

    subject: str
    subject_name: str
    relation: str
    words: Said
    object: str
    object_name: str
    according_to: str


def list_mappings(said: FolderCatalogue) -> tuple[ToldMapping, ...]:
    """Return the mappings that a catalogue says, in its order."""
    names = names_of(said)
    return tuple(
        ToldMapping(
            one.subject,
            names.get(one.subject, ""),
            one.relation,
            RELATIONS[one.relation],
            one.object,
            names.get(one.object, ""),
            one.according_to,
        )
        for one in said.mappings
    )


def names_of(said: FolderCatalogue) -> dict[str, str]:
    """Return what the catalogue calls the concepts of its forms, by their ids."""
    return {form.taxon_concept_id: f"{form.vernacular_name} ({form.scientific_name})" for form in said.forms}


def asked_of(said: FolderCatalogue) -> tuple[Asked, ...]:
    """Return what a page asks of a mapping: the subject is a concept of this catalogue's, the object any."""
    names = names_of(said)
    known = dict.fromkeys((*names, *(one.object for one in said.mappings)))
    return (
        Asked("subject", say("This concept"), needed=True, choices=tuple(names.items())),
        Asked("relation", say("How it lies"), 24, needed=True, choices=tuple((one, RELATIONS[one] + " …") for one in MAPPING_RELATIONS)),
        Asked(
            "object",
            say("The other concept"),
            2 * LINE,
            needed=True,
            offered=tuple(known),
            note=say("Its id; or its list and its name there: List, its year | Scientific name."),
        ),
        Asked("according_to", say("Who says so"), note=say("A list, a paper, a committee; may stay empty.")),
    )


def the_mapping(values: Mapping[str, Any]) -> FolderMapping:
    """Return the mapping that was typed; raises Invalid where both are one concept, or the other one is no id."""
    mapping = FolderMapping(str(values["subject"]), str(values["relation"]), _other(str(values["object"])), str(values["according_to"]))
    if mapping.subject == mapping.object:
        raise Invalid(say("That maps a concept onto itself. Name another one."), field="object")
    return mapping


def say_mapping(said: FolderCatalogue, values: Mapping[str, Any]) -> FolderCatalogue:
    """Say how two concepts lie to each other; what was said of the same two before is replaced, where it stood.

    Raises Invalid where both are one concept, or the other one is no id.
    """
    mapping = the_mapping(values)
    same = [{one.subject, one.object} == {mapping.subject, mapping.object} for one in said.mappings]
    if any(same):
        kept = tuple(mapping if is_same else one for one, is_same in zip(said.mappings, same, strict=True))
        return replace(said, mappings=tuple(dict.fromkeys(kept)))
    return replace(said, mappings=(*said.mappings, mapping))


def drop_mapping(said: FolderCatalogue, subject: str, other: str) -> FolderCatalogue:
    """Take a mapping out; raises NotFound where it is not said."""
    kept = tuple(one for one in said.mappings if (one.subject, one.object) != (subject, other))
    if len(kept) == len(said.mappings):
        raise NotFound(say("This catalogue does not say that of these two. It may have been taken out meanwhile: its history tells."))
    return replace(said, mappings=kept)


def _other(typed: str) -> str:
    """Return the id that was typed, or the one made from a list and a name."""
    list_name, bar, name = (part.strip() for part in typed.partition("|"))
    if bar and not (list_name and name):
        raise Invalid(say("“{typed}” names no list and name. Write: List, its year | Scientific name.", typed=typed[:60]), field="object")
    made = concept_id(list_name, name) if bar else list_name
    if len(made) > LINE:
        raise Invalid(say("The id of the other concept is too long: {most} letters at most.", most=LINE), field="object")
    return made
