"""Reads what forms measure, as it was typed: mean, spread and count in fields named by form and trait."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from drillhall.catalogues.folder import FolderCatalogue
from drillhall.core.measures import check_measured
from drillhall.core.values import Measured
from drillhall.errors import Invalid
from drillhall.web.languages import number
from drillhall.web.numbers import read_number
from drillhall.words import say

PARTS: Final = ("mean", "spread", "n")


def read_measures(given: Mapping[str, str], trait: str) -> dict[str, Measured | None]:
    """Return what was typed by form; a form whose three fields are empty says nothing. Raises Invalid naming the field to mend."""
    forms = (name.split(".") for name in given if name.startswith("mean.") and name.endswith(f".{trait}"))
    return {path[1]: _read(given, path[1], trait) for path in forms if len(path) == 3}


def field_values(said: FolderCatalogue) -> dict[str, str]:
    """Return what a catalogue says in each of these fields, by the field's name, with the signs of the language that is spoken."""
    return {
        f"{part}.{form.key}.{trait}": number(value, ".15g")
        for form in said.forms
        for trait, measured in form.measures.items()
        for part, value in zip(PARTS, (measured.mean, measured.spread, measured.n), strict=True)
        if value is not None
    }


def _read(given: Mapping[str, str], form: str, trait: str) -> Measured | None:
    names = [f"{part}.{form}.{trait}" for part in PARTS]
    mean, spread, n = (given.get(name, "").strip() for name in names)
    if not (mean or spread or n):
        return None
    counted = read_number(n, names[2]) if n else None
    if counted is not None and not counted.is_integer():
        raise Invalid(say("“{typed}” is no count. Write a whole number such as 40, or nothing.", typed=n[:40]), field=names[2])
    try:
        return check_measured(read_number(mean, names[0]), read_number(spread, names[1]), None if counted is None else int(counted))
    except Invalid as wrong:
        if wrong.field in PARTS:
            raise Invalid(wrong.sentence, field=f"{wrong.field}.{form}.{trait}") from wrong
        raise
