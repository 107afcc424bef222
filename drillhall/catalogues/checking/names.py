"""Checks the words for states, the names under other lists, and what is said of how concepts lie to each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from drillhall.catalogues.checking.lore import FORM, LANGUAGE, PAIR, named
from drillhall.catalogues.folder import CATALOGUE_FILE, Fault, FolderCatalogue, FolderForm, FolderMapping
from drillhall.catalogues.places import within_file
from drillhall.core.reading import COMMONNESS
from drillhall.core.terms import CONGRUENT, DISJOINT, MAPPING_RELATIONS
from drillhall.core.values import State, Trait, TraitKind
from drillhall.core.wording import ambiguous_words
from drillhall.words import listed, say

_ANY_KIND: Final = TraitKind.STRUCTURE


def list_double_words(catalogue: FolderCatalogue) -> Iterator[str]:
    """Yield a sentence for each word that means more than one state of a trait: whoever says it is not understood."""
    for trait in catalogue.traits:
        states = tuple(State(state.key, state.label, state.also_called) for state in trait.states)
        for word in ambiguous_words(Trait(trait.key, trait.label, trait.part, _ANY_KIND, states)):
            yield say("“{word}” means more than one state of {label}; leave it to one of them.", word=word, label=trait.label)


def faults_of_names(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check how common forms are said to be, their names under other lists, and the mappings of their concepts."""
    for form in catalogue.forms:
        yield from _of_form(within_file(CATALOGUE_FILE, named(FORM, form.key)), form, catalogue.list_name)
        yield from _of_called(within_file(CATALOGUE_FILE, named(FORM, form.key)), form, catalogue.language)
    for number, mapping in enumerate(catalogue.mappings, start=1):
        yield from _of_mapping(within_file(CATALOGUE_FILE, say("mapping number {number}", number=number)), mapping)
    sides = Counter(frozenset((mapping.subject, mapping.object)) for mapping in catalogue.mappings)
    for concepts in (both for both, times in sides.items() if times > 1 and len(both) == 2):
        yield Fault(
            within_file(CATALOGUE_FILE, say("mappings")),
            say("{concepts} are mapped twice.", concepts=listed(sorted(concepts))),
            say("Say it once."),
        )
    yield from _of_pairs(catalogue)
    yield from _of_twins(catalogue)


def _of_form(where: str, form: FolderForm, own_list: str) -> Iterator[Fault]:
    if form.commonness and form.commonness not in COMMONNESS:
        yield Fault(
            where,
            say("{name} says {said}.", name="commonness", said=form.commonness),
            say("Choose one of {choices}.", choices=", ".join(COMMONNESS)),
        )
    lists = Counter(name.list_name for name in form.also_named)
    for list_name, times in lists.items():
        if times > 1:
            yield Fault(where, say("{list_name} names it twice.", list_name=list_name), say("Give it one name under each list."))
        if list_name == own_list:
            yield Fault(
                where,
                say("{list_name} is this catalogue's own list.", list_name=list_name),
                say("Its name there is scientificName; take the other out."),
            )


def _of_called(where: str, form: FolderForm, own_language: str) -> Iterator[Fault]:
    languages = Counter(one.language for one in form.called)
    for language, times in languages.items():
        if not LANGUAGE.fullmatch(language) or len(language) > 16:
            yield Fault(where, say("The language {language} is no language tag.", language=language), say("Write it like en or pt-BR."))
        if times > 1:
            yield Fault(where, say("It has two names in {language}.", language=language), say("Give it one name in each language."))
        if language == own_language:
            yield Fault(
                where,
                say("{language} is this catalogue's own language.", language=language),
                say("Its name there is vernacularName; take the other out."),
            )


def _of_mapping(where: str, mapping: FolderMapping) -> Iterator[Fault]:
    if mapping.relation and mapping.relation not in MAPPING_RELATIONS:
        yield Fault(
            where,
            say("{name} says {said}.", name="mappingRelation", said=mapping.relation),
            say("Choose one of {choices}.", choices=", ".join(MAPPING_RELATIONS)),
        )
    if mapping.subject and mapping.subject == mapping.object:
        yield Fault(where, say("It maps a concept onto itself."), say("Name two concepts."))


def _of_pairs(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Two forms can only be told apart where their concepts share no member."""
    concepts = {form.key: form.taxon_concept_id for form in catalogue.forms}
    said = {frozenset((mapping.subject, mapping.object)): mapping.relation for mapping in catalogue.mappings}
    for pair in catalogue.pairs:
        relation = said.get(frozenset(concepts.get(key, "") for key in pair.forms), DISJOINT)
        if relation != DISJOINT:
            both = listed(pair.forms)
            mend = say("Pair forms whose concepts share no member ({disjoint}), or mend the mapping.", disjoint=DISJOINT)
            yield Fault(
                within_file(CATALOGUE_FILE, named(PAIR, both)),
                say("The concepts of {both} are mapped as {relation}.", both=both, relation=relation),
                mend,
            )


def _of_twins(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Two concepts with one boundary are one, so that two forms of theirs that wear the same are one form."""
    one_of = {mapping.subject: mapping.object for mapping in catalogue.mappings if mapping.relation == CONGRUENT}
    seen: dict[tuple[str, ...], str] = {}
    for form in catalogue.forms:
        concept = one_of.get(form.taxon_concept_id, form.taxon_concept_id)
        twin = seen.setdefault((concept, *form.identity[1:]), form.key)
        if twin != form.key and form.taxon_concept_id in {*one_of, *one_of.values()}:
            where = within_file(CATALOGUE_FILE, named(FORM, form.key))
            yield Fault(where, say("Its concept is congruent with that of {twin}, and it wears the same.", twin=twin), say("Join the two."))
