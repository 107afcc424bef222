"""Reads and writes the PO files, one a room and language: sorted, without dates or line numbers, so that two people's changes part."""

from __future__ import annotations

from pathlib import Path
from typing import cast

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po, write_po

from drillhall.words.catalogues import FOLDER
from drillhall.words.speaking import ENGLISH, LANGUAGES
from tests.words.extracting import Spoken

Key = tuple[str, str]


def translated_languages() -> list[str]:
    """Return the languages that have catalogues."""
    return [language for language in LANGUAGES if language != ENGLISH]


def path_of(language: str, room: str) -> Path:
    """Return where a room's words of a language lie."""
    return FOLDER / language / f"{room}.po"


def read_room(language: str, room: str) -> dict[Key, Message]:
    """Return what is translated, or to be, in a room by context and sentence; nothing where there is no file yet."""
    path = path_of(language, room)
    if not path.exists():
        return {}
    with path.open("rb") as file:
        return {(one.context or "", key_of(one)): one for one in read_po(file, locale=language) if one.id}


def key_of(message: Message) -> str:
    """Return the sentence that a message is found by: of a plural the one for one."""
    return message.id if isinstance(message.id, str) else message.id[0]


def forms_of(message: Message) -> tuple[str, ...]:
    """Return the words of a message, one for each plural form that it has."""
    return (message.string,) if isinstance(message.string, str) else tuple(message.string or ())


def update_room(language: str, room: str, spoken: list[Spoken], elsewhere: dict[Key, Message]) -> None:
    """Write a room's file anew: what is said there, with the words that it has, or that another room has for the same."""
    known, catalog = read_room(language, room), Catalog(locale=language)
    for one in spoken:
        before = known.get(one.key) or elsewhere.get(one.key)
        fits = before is not None and bool(one.many) == (not isinstance(before.id, str))
        said = cast(Message, before).string if fits else (("",) * catalog.num_plurals if one.many else "")
        catalog.add((one.msgid, one.many) if one.many else one.msgid, said, locations=[(one.path, 0)], context=one.ctx or None)
    path = path_of(language, room)
    if not spoken:
        path.unlink(missing_ok=True)
        return
    path.parent.mkdir(exist_ok=True)
    with path.open("wb") as file:
        write_po(file, catalog, width=120, sort_output=True, omit_header=True, include_lineno=False)
