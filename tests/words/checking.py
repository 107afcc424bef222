"""What is wrong with the words: untranslated, with other gaps or tags than the English, in too few forms, said in two ways."""

from __future__ import annotations

import re
from collections.abc import Iterator
from string import Formatter

from babel.messages.catalog import Message
from babel.messages.plurals import get_plural

from drillhall.words.speaking import OFFERED
from tests.words.extracting import Spoken
from tests.words.po_files import Key, forms_of, key_of, read_room

_TAG = re.compile(r"</?[a-z][^>]*>")
_ENDS = re.compile(r"[.:?…;,]?$")


def problems_of(language: str, spoken: dict[str, list[Spoken]]) -> Iterator[str]:
    """Return everything that is wrong with the words of a language, each with its room and sentence.

    Of one that is not on offer what is there must be right; one that is on offer must be whole.
    """
    told: dict[Key, tuple[str, tuple[str, ...]]] = {}
    for room in sorted(spoken):
        messages = read_room(language, room)
        for key, message in messages.items():
            yield from (f"{language}/{room}: {key[1]!r}: {what}" for what in problems_with(message, language))
            other, forms = told.setdefault(key, (room, forms_of(message)))
            if any(forms) and any(forms_of(message)) and forms != forms_of(message):
                yield f"{language}/{room}: {key[1]!r}: room {other} says it otherwise"
        if language in OFFERED:
            yield from (f"{language}/{room}: {what}" for what in _gaps(messages, spoken[room]))


def problems_with(message: Message, language: str) -> Iterator[str]:
    """Return what is wrong with one translation; one that is still empty is no fault of its own."""
    forms = forms_of(message)
    if message.fuzzy:
        yield "is marked as doubtful"
    if not any(forms):
        return
    wanted = 1 if isinstance(message.id, str) else get_plural(language).num_plurals
    if len(forms) != wanted or not all(forms):
        yield f"has {sum(map(bool, forms))} forms of {wanted}"
    english = {message.id} if isinstance(message.id, str) else set(message.id)
    for form in filter(None, forms):
        yield from _differences(form, english, may_leave_count=wanted > 1)


def untranslated(language: str, room: str, spoken: list[Spoken]) -> list[str]:
    """Return the sentences of a room that have no words in a language yet."""
    messages = read_room(language, room)
    return sorted({one.msgid for one in spoken if one.key not in messages or not any(forms_of(messages[one.key]))})


def _gaps(messages: dict[Key, Message], spoken: list[Spoken]) -> Iterator[str]:
    keys = {one.key for one in spoken}
    yield from (f"{one.msgid!r} begins or ends with a space" for one in spoken if one.msgid != one.msgid.strip())
    yield from (f"{one[1]!r} is missing: update, then translate" for one in sorted(keys - set(messages)))
    yield from (f"{one[1]!r} is said nowhere: update" for one in sorted(set(messages) - keys))
    yield from (f"{key_of(one)!r} is not translated" for one in messages.values() if not any(forms_of(one)))


def _differences(form: str, english: set[str], *, may_leave_count: bool) -> Iterator[str]:
    try:
        gaps = _named_gaps(form)
    except ValueError as error:
        yield f"has gaps that cannot be read: {error}"
        return
    fits = [_named_gaps(text) for text in english]
    if may_leave_count:
        fits += [other - {"n"} for other in fits]
    if gaps not in fits:
        yield f"has the gaps {sorted(gaps)}"
    if sorted(_TAG.findall(form)) not in [sorted(_TAG.findall(text)) for text in english]:
        yield "has other tags"
    if "!" in form and not any("!" in text for text in english):
        yield "calls out"
    if form != form.strip() and not any(text != text.strip() for text in english):
        yield "has spaces at its ends"
    if _ENDS.findall(form)[0] not in {_ENDS.findall(text)[0] for text in english}:
        yield "ends with another sign"


def _named_gaps(text: str) -> set[str]:
    """Return the names of the gaps; how a number is to be written is for each language to say."""
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}
