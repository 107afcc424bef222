"""Tells a trait in another language than its catalogue's: its words change, and nothing else about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from drillhall.core.values import State, Tongues, Trait, Words
from drillhall.core.wording import fold_word


def fitting_tag(tags: Iterable[str], language: str) -> str | None:
    """Return the tag that fits a language best: the tag itself, else a wider one, else the first of a region of it; None where none does.

    Source
    ------
    RFC 4647, section 3.4 (lookup: the range is shortened from its end); case tells nothing (RFC 5646, section 2.1.1). That a region
    stands in for its language is ours.

    >>> fitting_tag(("en", "de-AT", "de"), "de-CH"), fitting_tag(("en", "pt-BR"), "pt"), fitting_tag(("en",), "de")
    ('de', 'pt-BR', None)
    """
    known: dict[str, str] = {}
    for tag in tags:
        known.setdefault(tag.casefold(), tag)
    wanted = language.casefold()
    parts = wanted.split("-")
    for length in range(len(parts), 0, -1):
        if (folded := "-".join(parts[:length])) in known:
            return known[folded]
    return next((tag for folded, tag in known.items() if folded.startswith(f"{wanted}-")), None)


def told_in(trait: Trait, language: str) -> Trait:
    """Return a trait in a language: each word that is said there, and the others in the language in which it was.

    What it was told in goes among what is said elsewhere, so that every word is still heard and the trait can be told back. Where two
    states would come to bear one word, they keep the words they had: a question is about the state and not about the word. The
    question goes with the label: where none is asked in that language, the hall asks in its own words.
    """
    if _stays(trait, language) and all(_stays(state, language) for state in trait.states):
        return trait
    states = tuple(_state_in(state, language) for state in trait.states)
    if len({fold_word(state.label) for state in states}) < len(states):
        states = trait.states
    tag = _tag_of(trait, language)
    if tag == trait.language:
        return replace(trait, states=states)
    words = trait.said[tag]
    said = _swapped(trait.said, tag, trait.language, Words(label=trait.label, ask=trait.ask))
    return replace(trait, label=words.label, ask=words.ask, language=tag, said=said, states=states)


def note_in(note: str, said: Tongues, own: str, language: str) -> tuple[str, str]:
    """Return a note as it is told in a language, and the language that it is in: what is said there, else the catalogue's own."""
    tag = fitting_tag((own, *(one for one, words in said.items() if words.note)), language) or own
    return (note, own) if tag == own else (said[tag].note, tag)


def label_in(label: str, said: Tongues, own: str, language: str) -> str:
    """Return what a trait is called in a language: what is said there, else the catalogue's own word.

    >>> label_in("Bill", {"de": Words("Schnabel")}, "en", "de"), label_in("Bill", {}, "en", "de")
    ('Schnabel', 'Bill')
    """
    tag = fitting_tag((own, *(one for one, words in said.items() if words.label)), language) or own
    return label if tag == own else said[tag].label


def words_in(stored: Mapping[str, Mapping[str, Any]]) -> dict[str, Words]:
    """Return what is stored of words in other languages as values.

    >>> words_in({"de": {"label": "Schnabel"}})["de"].label
    'Schnabel'
    """
    return {
        tag: Words(one.get("label", ""), one.get("ask", ""), tuple(one.get("also_called", ())), one.get("note", ""))
        for tag, one in stored.items()
    }


def words_out(said: Tongues) -> dict[str, dict[str, Any]]:
    """Return words in other languages as they are stored: what is empty is left out, and a language in which all is.

    >>> words_out({"de": Words("gerade"), "fr": Words()})
    {'de': {'label': 'gerade'}}
    """
    fields = {
        tag: {"label": one.label, "ask": one.ask, "also_called": list(one.also_called), "note": one.note} for tag, one in said.items()
    }
    full = {tag: {name: value for name, value in one.items() if value} for tag, one in fields.items()}
    return {tag: one for tag, one in full.items() if one}


def _stays(thing: Trait | State, language: str) -> bool:
    """Whether a thing is told in that language already, or can be in none but the one it is told in."""
    return language == thing.language or not thing.said


def _state_in(state: State, language: str) -> State:
    tag = _tag_of(state, language)
    if tag == state.language:
        return state
    words = state.said[tag]
    said = _swapped(state.said, tag, state.language, Words(label=state.label, also_called=state.also_called))
    return replace(state, label=words.label, also_called=words.also_called, language=tag, said=said)


def _tag_of(thing: Trait | State, language: str) -> str:
    """Return the language in which a thing is told: the one that fits best of those that have a word for it, else the one it is told in."""
    if language != thing.language and language in thing.said and thing.said[language].label:
        return language
    tags = (thing.language, *(tag for tag, words in thing.said.items() if words.label))
    return fitting_tag(tags, language) or thing.language


def _swapped(said: Tongues, tag: str, own: str, words: Words) -> dict[str, Words]:
    return {own: words, **{one: other for one, other in said.items() if one != tag}}
