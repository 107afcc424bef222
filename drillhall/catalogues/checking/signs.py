"""Finds signs that no text may hold: a database, a page or a spreadsheet would trip over them."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from drillhall.catalogues.folder import CATALOGUE_FILE, PICTURES_FILE, SETS_FILE, Fault, FolderCatalogue
from drillhall.catalogues.places import line_of
from drillhall.words import say

ALLOWED = "\n\t\r"
MEND = say("Take the sign out; it is often one that came along when text was pasted.")


def faults_of_signs(catalogue: FolderCatalogue) -> list[Fault]:
    """Return a fault for each text that holds a control sign."""
    files = {"sets": SETS_FILE, "sets_beside": SETS_FILE}
    faults = []
    for field in fields(catalogue):
        if field.name != "pictures":
            where = files.get(field.name, CATALOGUE_FILE)
            faults += [_fault(where, text) for text in _texts(getattr(catalogue, field.name)) if has_control_sign(text)]
    for picture in catalogue.pictures:
        faults += [_fault(line_of(PICTURES_FILE, picture.row), text) for text in _texts(picture) if has_control_sign(text)]
    return faults


def has_control_sign(text: str) -> bool:
    """Whether a text holds a control sign other than a tab or the end of a line."""
    return any(unicodedata.category(sign) in ("Cc", "Cs") and sign not in ALLOWED for sign in text)


def _fault(where: str, text: str) -> Fault:
    return Fault(where, say("The text {text} holds a control sign.", text=ascii(text[:40])), MEND)


def _texts(said: Any) -> Iterator[str]:
    if isinstance(said, str):
        yield said
    elif is_dataclass(said):
        for field in fields(said):
            yield from _texts(getattr(said, field.name))
    elif isinstance(said, Mapping):
        for key, value in said.items():
            yield from _texts(key)
            yield from _texts(value)
    elif isinstance(said, list | tuple):
        for item in said:
            yield from _texts(item)
