"""Reads the table of how often forms show states, as it was typed: one field a cell, named by form, trait and state."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from drillhall.catalogues.editing.fields import chance_words, read_chance
from drillhall.catalogues.editing.things import Cell
from drillhall.catalogues.folder import FolderCatalogue, SaidChance

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
            cells[form, trait, state] = read_chance(value) if value.strip() else None
    return cells


def cell_words(said: FolderCatalogue) -> dict[str, str]:
    """Return what a catalogue says in each cell, by the name of its field."""
    return {
        cell_name(form.key, trait, state): chance_words(chance)
        for form in said.forms
        for trait, states in form.traits.items()
        for state, chance in states.items()
    }
