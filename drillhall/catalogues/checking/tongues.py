"""Checks what is said in other languages: that each is one, and that every word in it means one state."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from drillhall.catalogues.checking.lore import LANGUAGE, PAIR, TRAIT, named
from drillhall.catalogues.folder import CATALOGUE_FILE, Fault, FolderCatalogue, FolderTrait
from drillhall.catalogues.places import within_file
from drillhall.core.values import State
from drillhall.core.wording import ambiguous_elsewhere
from drillhall.words import joined, listed, say


def faults_of_tongues(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check the words in other languages of traits, their states and pairs."""
    for trait in catalogue.traits:
        where = within_file(CATALOGUE_FILE, named(TRAIT, trait.key))
        languages = dict.fromkeys([*trait.said, *(tag for state in trait.states for tag in state.said)])
        yield from _of_languages(where, languages, catalogue.language)
        yield from _of_words(where, trait, languages)
    for pair in catalogue.pairs:
        yield from _of_languages(within_file(CATALOGUE_FILE, named(PAIR, listed(pair.forms))), pair.said, catalogue.language)


def _of_languages(where: str, languages: Iterable[str], own: str) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for language in languages:
        twin = seen.setdefault(language.casefold(), language)
        if not LANGUAGE.fullmatch(language) or len(language) > 16:
            yield Fault(where, say("The language {language} is no language tag.", language=language), say("Write it like en or pt-BR."))
        elif twin != language:
            yield Fault(where, say("{one} and {other} are one language.", one=twin, other=language), say("Say it under one of them."))
        elif language.casefold() == own.casefold():
            yield Fault(
                where,
                say("{language} is this catalogue's own language.", language=language),
                say("Its words there stand beside its key; take the others out."),
            )


def _of_words(where: str, trait: FolderTrait, languages: Iterable[str]) -> Iterator[Fault]:
    states = [State(key=state.key, label=state.label, said=state.said) for state in trait.states]
    for language in languages:
        for word in ambiguous_elsewhere(states, language):
            yield Fault(
                joined(", ", (where, say("said in {language}", language=language))),
                say("“{word}” means more than one state.", word=word),
                say("Leave it to one of them."),
            )
