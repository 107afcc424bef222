"""Lays out what a catalogue says in other languages as its file tells it."""

from __future__ import annotations

from typing import Any

from drillhall.catalogues.folder import FolderCatalogue, FolderTrait
from drillhall.core.tongues import words_out
from drillhall.core.values import Words


def trait_words(trait: FolderTrait) -> dict[str, Any]:
    """Return what a trait and its states are called, by language; a state that is called one thing is that word alone."""
    told: dict[str, dict[str, Any]] = words_out(trait.said)
    for state in trait.states:
        for language, words in state.said.items():
            told.setdefault(language, {}).setdefault("states", {})[state.key] = _state_words(words)
    return told


def lines_of_states(catalogue: FolderCatalogue) -> frozenset[str]:
    """Return the paths of the tables that name states in other languages, which are written a state in a line."""
    return frozenset(f"traits.said.{tag}.states" for trait in catalogue.traits for state in trait.states for tag in state.said)


def _state_words(words: Words) -> Any:
    return {"label": words.label, "also_called": list(words.also_called)} if words.also_called else words.label
