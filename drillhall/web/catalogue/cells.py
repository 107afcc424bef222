"""Reads the table of how often forms show states, as it was typed: one field a cell, named by form, trait and state."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from drillhall.catalogues.editing.fields import read_chance
from drillhall.catalogues.editing.things import Cell
from drillhall.catalogues.editing.value_words import HOW_OFTEN, OF
from drillhall.catalogues.folder import FolderCatalogue, SaidChance
from drillhall.core.term_words import term_of
from drillhall.words import say

SIGN: Final = "chance"


def cell_name(form: str, trait: str, state: str) -> str:
    """Return the name of a cell's field; no key holds a full stop."""
    return f"{SIGN}.{form}.{trait}.{state}"


def read_cells(given: Mapping[str, str]) -> dict[Cell, SaidChance | None]:
    """Return what was typed in every cell that was sent; an empty one says nothing."""
    cells: dict[Cell, SaidChance | None] = {}
    for name, value in given.items():
        sign, *path = name.split(".")
        if sign == SIGN and len(path) == 3:
            form, trait, state = path
            cells[form, trait, state] = _read(value) if value.strip() else None
    return cells


def _read(typed: str) -> SaidChance:
    """Return what was typed in the reader's language, or in English."""
    return read_chance(" ".join(term_of(word, OF) for word in term_of(typed, HOW_OFTEN).split()))


def cell_words(said: FolderCatalogue) -> dict[str, str]:
    """Return what a catalogue says in each cell, by the name of its field."""
    return {
        cell_name(form.key, trait, state): _words(chance)
        for form in said.forms
        for trait, states in form.traits.items()
        for state, chance in states.items()
    }


def _words(chance: SaidChance) -> str:
    return HOW_OFTEN.get(chance.word, chance.word) if chance.word else say("{shown} of {of}", shown=chance.shown, of=chance.of)
