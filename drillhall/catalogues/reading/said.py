"""Turns the two TOML files of a folder into values: forms, traits with chances, pairs, pair sets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from drillhall.catalogues.folder import (
    CATALOGUE_FILE,
    SETS_FILE,
    Fault,
    FolderCalled,
    FolderCatalogue,
    FolderForm,
    FolderMapping,
    FolderName,
    FolderPair,
    FolderSet,
    FolderStage,
    FolderState,
    FolderThird,
    FolderTrait,
    PairOfKeys,
    SaidChance,
)
from drillhall.catalogues.places import within_file
from drillhall.catalogues.reading.concepts import concept_id
from drillhall.catalogues.reading.tables import Table
from drillhall.catalogues.reading.tongues import NOTE_LONGEST, notes_of_pair, words_of_trait
from drillhall.core.values import Measured
from drillhall.words import joined, listed, say


def catalogue_of(content: dict[str, Any], faults: list[Fault]) -> FolderCatalogue:
    """Return what catalogue.toml says; whatever is missing stays empty and is noted."""
    file = Table(content, CATALOGUE_FILE, faults)
    head = Table(file.table("catalogue"), within_file(CATALOGUE_FILE, "[catalogue]"), faults)
    list_name = head.text("list", needed=True)
    return FolderCatalogue(
        key=head.text("key", needed=True, longest=80),
        title=head.text("title", needed=True),
        subject=head.text("subject", needed=True, longest=40),
        list_name=list_name,
        language=head.text("language", default="en", longest=16),
        note=head.text("note", longest=NOTE_LONGEST),
        mappings=tuple(_mapping(table) for table in file.tables("mappings", say("mapping"))),
        traits=tuple(_trait(table) for table in file.tables("traits", say("trait"))),
        forms=tuple(_form(table, list_name) for table in file.tables("forms", say("form", ctx="of a catalogue"))),
        pairs=tuple(_pair(table) for table in file.tables("pairs", say("pair"))),
        extra=head.left(),
        beside=file.left(),
    )


def sets_of(content: dict[str, Any], faults: list[Fault]) -> tuple[tuple[FolderSet, ...], dict[str, Any]]:
    """Return the pair sets that pair-sets.toml says, and what it says beside them."""
    file = Table(content, SETS_FILE, faults)
    return tuple(_set(table) for table in file.tables("sets", say("set", ctx="of pairs"))), file.left()


def _trait(table: Table) -> FolderTrait:
    states = tuple(_state(state) for state in table.tables("states", say("state")))
    said, of_states = words_of_trait(table, [state.key for state in states])
    return FolderTrait(
        key=table.text("key", needed=True, longest=80),
        label=table.text("label", needed=True, longest=120),
        part=table.text("part", needed=True, longest=40),
        kind=table.text("kind", needed=True, longest=16),
        ask=table.text("ask"),
        unit=table.text("unit", longest=16),
        note=table.text("note", longest=NOTE_LONGEST),
        states=tuple(replace(state, said=of_states.get(state.key, {})) for state in states),
        said=said,
        extra=table.left(),
    )


def _state(table: Table) -> FolderState:
    return FolderState(
        key=table.text("key", needed=True, longest=80),
        label=table.text("label", needed=True, longest=120),
        also_called=table.texts("also_called"),
        colour=table.text("colour", longest=7),
        extra=table.left(),
    )


def _form(table: Table, list_name: str) -> FolderForm:
    scientific_name = table.text("scientificName", needed=True)
    given = table.text("taxonConceptID")
    return FolderForm(
        key=table.text("key", needed=True, longest=60),
        scientific_name=scientific_name,
        vernacular_name=table.text("vernacularName", needed=True),
        taxon_concept_id=given or concept_id(list_name, scientific_name),
        taxon_rank=table.text("taxonRank", default="species", longest=40),
        sex=table.text("sex", longest=40),
        life_stage=table.text("lifeStage", longest=40),
        plumage=table.text("plumage", longest=80),
        variant=table.text("variant", longest=80),
        length_mm=table.whole("length_mm"),
        commonness=table.text("commonness", longest=16),
        also_named=tuple(_name(name) for name in table.tables("names", say("name"))),
        called=tuple(_called(table)),
        note=table.text("note", longest=NOTE_LONGEST),
        traits=_chances(table),
        measures=dict(_measures(table)),
        extra=table.left(),
    )


def _name(table: Table) -> FolderName:
    name = FolderName(
        list_name=table.text("nameAccordingTo", needed=True),
        scientific_name=table.text("scientificName", needed=True),
        vernacular_name=table.text("vernacularName"),
    )
    table.nothing_left()
    return name


def _called(table: Table) -> Iterator[FolderCalled]:
    for language, name in table.table("vernacularNames").items():
        if not isinstance(name, str) or not name.strip() or len(name) > 200:
            table.fault(
                say("vernacularNames, {language}, is no name.", language=language),
                say('Write {language} = "...", of at most 200 characters, or take it out.', language=language),
            )
        else:
            yield FolderCalled(language, name.strip())


def _mapping(table: Table) -> FolderMapping:
    mapping = FolderMapping(
        subject=table.text("subjectTaxonConcept", needed=True),
        relation=table.text("mappingRelation", needed=True),
        object=table.text("objectTaxonConcept", needed=True),
        according_to=table.text("mappingAccordingTo"),
    )
    table.nothing_left()
    return mapping


def _chances(table: Table) -> Mapping[str, Mapping[str, SaidChance]]:
    said: dict[str, dict[str, SaidChance]] = {}
    for trait, states in table.table("traits").items():
        if not isinstance(states, dict):
            table.fault(
                say("The trait {trait} must be a table of states.", trait=trait),
                say('Write {trait} = {{ some_state = "usually" }}.', trait=trait),
            )
            continue
        said[trait] = {}
        for state, value in states.items():
            chance = _chance(table, f"{trait}, {state}", value)
            if chance is not None:
                said[trait][state] = chance
    return said


def _measures(table: Table) -> Iterator[tuple[str, Measured]]:
    for trait, value in table.table("measures").items():
        if not isinstance(value, dict) or not {"mean", "spread"} <= value.keys():
            table.fault(
                say("The measure of {trait} does not tell mean and spread.", trait=trait),
                say("Write {trait} = {measure}.", trait=trait, measure="{ mean = 38.5, spread = 2.1, n = 40 }"),
            )
            continue
        told = len(table.faults)
        said = Table(value, joined(", ", (table.where, trait)), table.faults)
        measured = Measured(said.number("mean", default=0.0), said.number("spread", default=0.0), said.whole("n"))
        said.nothing_left()
        if len(table.faults) == told:
            yield trait, measured


def _chance(table: Table, name: str, value: Any) -> SaidChance | None:
    if isinstance(value, str):
        return SaidChance(word=value.strip())
    if isinstance(value, dict):
        counts = Table(value, joined(", ", (table.where, name)), table.faults)
        shown, of = counts.whole("shown"), counts.whole("of")
        counts.nothing_left()
        if shown is not None and of is not None:
            return SaidChance(shown=shown, of=of)
    table.fault(
        say("{name} says neither a word nor counts.", name=name),
        say("Write {word}, or {counts}.", word='"usually"', counts="{ shown = 18, of = 20 }"),
    )
    return None


def _pair(table: Table) -> FolderPair:
    forms = _two_forms(table, table.texts("forms"))
    told = listed(form for form in forms if form) if any(forms) else say("without forms")
    named = Table(table.left(), joined("", (table.where, " (", told, ")")), table.faults)
    return FolderPair(
        forms=forms,
        note=named.text("note", longest=NOTE_LONGEST),
        neither=named.flag("neither", default=True),
        third_share=named.number("third_share", default=0.05),
        thirds=tuple(sorted(_third(third) for third in named.tables("thirds", say("third", ctx="of a pair")))),
        said=notes_of_pair(named),
        extra=named.left(),
    )


def _third(table: Table) -> FolderThird:
    third = FolderThird(form=table.text("form", needed=True), trait=table.text("trait", needed=True))
    table.nothing_left()
    return third


def _set(table: Table) -> FolderSet:
    return FolderSet(
        key=table.text("key", needed=True, longest=80),
        title=table.text("title", needed=True),
        note=table.text("note", longest=NOTE_LONGEST),
        stages=tuple(_stage(stage) for stage in table.tables("stages", say("stage"))),
        extra=table.left(),
    )


def _stage(table: Table) -> FolderStage:
    pairs = [_two_forms(table, item if isinstance(item, list) else []) for item in table.items("pairs")]
    return FolderStage(
        title=table.text("title", needed=True),
        pairs=tuple(pair for pair in pairs if all(pair)),
        poses=tuple(dict.fromkeys(table.texts("poses"))),
        distances=tuple(dict.fromkeys(table.texts("distances"))),
        extra=table.left(),
    )


def _two_forms(table: Table, said: Any) -> PairOfKeys:
    """Return two form keys; two empty ones where there are not exactly two, with a fault."""
    if len(said) == 2 and all(isinstance(key, str) and key.strip() for key in said):
        return said[0].strip(), said[1].strip()
    table.fault(say("A pair does not name two forms."), say('Write it as ["one_form", "other_form"].'))
    return "", ""
