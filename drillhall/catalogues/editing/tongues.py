"""Edits of what a catalogue says in other languages; each returns the catalogue as it would be, and nothing is stored here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from drillhall.catalogues.checking.lore import LANGUAGE
from drillhall.catalogues.editing.things import the_thing
from drillhall.catalogues.folder import FolderCatalogue, FolderTrait
from drillhall.core.tongues import words_out
from drillhall.core.values import Tongues, Words
from drillhall.errors import Invalid
from drillhall.words import say

LONGEST_TAG: Final = 16


@dataclass(frozen=True, slots=True)
class Saying:
    """How much of a catalogue is said in a language: words of traits and states, and notes, of all that there are to say."""

    language: str
    said: int
    of: int

    @property
    def is_whole(self) -> bool:
        """Whether nothing is left to say."""
        return self.said == self.of


def say_trait(said: FolderCatalogue, key: str, language: str, words: Words, states: Mapping[str, Words]) -> FolderCatalogue:
    """Say a trait and its states in a language; whatever has no word there is told as the catalogue says it.

    Raises Invalid where a question, or what else a state is called, has no word that it goes with.
    """
    trait = the_thing(said.traits, key, "trait")
    if not states.keys() <= {state.key for state in trait.states}:
        raise Invalid(say("A state of this trait was retired meanwhile. Open the page again."), field="states")
    if words.ask and not words.label:
        raise Invalid(say("A question without the word for its trait. Write the word too."), field="label")
    if any(one.also_called and not one.label for one in states.values()):
        raise Invalid(say("A state's other words without its first one. Write the word too."), field="states")
    told = (replace(state, said=_with(state.said, language, states.get(state.key, Words()))) for state in trait.states)
    changed = replace(trait, said=_with(trait.said, language, words), states=tuple(told))
    return replace(said, traits=tuple(changed if one.key == key else one for one in said.traits))


def say_note(said: FolderCatalogue, key: str, language: str, note: str) -> FolderCatalogue:
    """Say the note of a pair in a language; an empty one leaves it as the catalogue says it."""
    pair = the_thing(said.pairs, key, "pair")
    changed = replace(pair, said=_with(pair.said, language, Words(note=note)))
    return replace(said, pairs=tuple(changed if one.key == key else one for one in said.pairs))


def languages_said(said: FolderCatalogue) -> tuple[str, ...]:
    """Return the languages beside its own in which a catalogue says anything, in order."""
    return tuple(sorted({tag for tongues in _tongues(said) for tag in tongues}))


def how_much(said: FolderCatalogue, language: str) -> Saying:
    """Return how much of a catalogue is said in a language."""
    every = list(_tongues(said))
    return Saying(language, sum(language in tongues for tongues in every), len(every))


def is_said_whole(trait: FolderTrait, language: str) -> bool:
    """Whether a trait and each of its states has a word in a language."""
    return language in trait.said and all(language in state.said for state in trait.states)


def next_unsaid(said: FolderCatalogue, language: str, *, after: str) -> str:
    """Return the key of the next trait behind one, round to the first, that is not said whole in a language; empty where all are."""
    keys = [trait.key for trait in said.traits]
    place = keys.index(after)
    behind = (*said.traits[place + 1 :], *said.traits[:place])
    return next((trait.key for trait in behind if not is_said_whole(trait, language)), "")


def the_language(said: FolderCatalogue, typed: str) -> str:
    """Return a language that was typed, as the catalogue writes it where it says something there already.

    Raises Invalid for what is no tag of a language, and for the catalogue's own.
    """
    if not LANGUAGE.fullmatch(typed) or len(typed) > LONGEST_TAG:
        raise Invalid(say("{language} is no tag of a language. Write it like de or pt-BR.", language=typed[:40]), field="language")
    if typed.casefold() == said.language.casefold():
        raise Invalid(
            say("{language} is this catalogue's own language. Its words there stand on the pages of traits and pairs.", language=typed),
            field="language",
        )
    return next((tag for tag in languages_said(said) if tag.casefold() == typed.casefold()), typed)


def _tongues(said: FolderCatalogue) -> Iterator[Tongues]:
    """Yield what there is to say in other languages, thing by thing."""
    for trait in said.traits:
        yield trait.said
        yield from (state.said for state in trait.states)
    yield from (pair.said for pair in said.pairs if pair.note or pair.said)


def _with(said: Tongues, language: str, words: Words) -> dict[str, Words]:
    others = {tag: one for tag, one in said.items() if tag != language}
    return {**others, language: words} if words_out({language: words}) else others
