"""Sentences that remember what they were made of, so that they can be told in another language where somebody reads them.

Below the edges everything is said in English, by `say` and its kin. What they return is that English text, a plain `str` to whoever
compares, logs or prints it; a template that shows it, or `told(language)`, has it in the reader's language.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, Final, Self

from markupsafe import Markup, escape

from drillhall.words import locales
from drillhall.words.catalogues import catalogue_of
from drillhall.words.speaking import ENGLISH, speaking

CONTEXT: Final = "\x04"
"""Stands in a catalogue between what a sentence is about and the sentence (GNU gettext, MO files)."""


class Said(str):
    """An English text that can be told in other languages; `+` keeps that, an f-string or `join` of `str` loses it."""

    __slots__ = ()

    def told(self, language: str) -> str:
        """Return the text in a language; in English where nobody has said it in that one."""
        return str.__str__(self)

    def __html__(self) -> Markup:
        """Return the text in the language that is spoken here, escaped: what a template shows of it."""
        return escape(self.told(speaking()))

    def __add__(self, other: str) -> Said:
        """Return both, one after the other."""
        return joined("", (self, other))

    def __radd__(self, other: str) -> Said:
        """Return both, one after the other."""
        return joined("", (other, self))

    def filled(self, **values: Any) -> Said:
        """Return the text with its {gaps} filled, where it was said with gaps and no values."""
        return self

    def capitalize(self) -> Said:
        """Return the text with its first letter large and the rest as it is."""
        return _Large(self)


class _Sentence(Said):
    """A sentence of a catalogue, with what stands in its gaps."""

    __slots__ = ("_count", "_msgid", "_plural", "_values")
    _msgid: str
    _plural: str
    _count: int
    _values: Mapping[str, Any]

    def __new__(cls, msgid: str, plural: str, count: int, values: Mapping[str, Any], about: str) -> Self:
        english = msgid if not plural or count == 1 else plural
        made = super().__new__(cls, _filled(english, values, ENGLISH))
        made._msgid, made._plural, made._count, made._values = about + CONTEXT + msgid if about else msgid, plural, count, values
        return made

    def told(self, language: str) -> str:
        if language == ENGLISH:
            return str.__str__(self)
        found = catalogue_of(language).find(self._msgid, self._count if self._plural else None)
        if found is None:
            english = self._msgid.rpartition(CONTEXT)[2] if not self._plural or self._count == 1 else self._plural
            return _filled(english, self._values, language)
        return _filled(found, self._values, language)

    def filled(self, **values: Any) -> Said:
        about, _, msgid = self._msgid.rpartition(CONTEXT)
        return type(self)(msgid, self._plural, self._count, {**self._values, **values}, about)

    def __reduce__(self) -> tuple[Any, ...]:
        about, _, msgid = self._msgid.rpartition(CONTEXT)
        return type(self), (msgid, self._plural, self._count, dict(self._values), about)


class _Joined(Said):
    """Several texts in a row; with `is_list` as the language lists things: a, b and c."""

    __slots__ = ("_between", "_is_list", "_parts")
    _between: str
    _parts: tuple[object, ...]
    _is_list: bool

    def __new__(cls, between: str, parts: Iterable[object], is_list: bool = False) -> Self:
        kept = tuple(parts)
        words = [value_told(part, ENGLISH) for part in kept]
        made = super().__new__(cls, locales.listed(words, ENGLISH) if is_list else between.join(words))
        made._between, made._parts, made._is_list = between, kept, is_list
        return made

    def told(self, language: str) -> str:
        words = [value_told(part, language) for part in self._parts]
        return locales.listed(words, language) if self._is_list else self._between.join(words)

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self._between, self._parts, self._is_list)


class _Within(Said):
    """A label as it stands within a sentence."""

    __slots__ = ("_label",)
    _label: str

    def __new__(cls, label: str) -> Self:
        made = super().__new__(cls, label[:1].lower() + label[1:])
        made._label = label
        return made

    def told(self, language: str) -> str:
        return str.__str__(self) if language == ENGLISH else self._label

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self._label,)


class _Large(Said):
    """A text that begins with a large letter."""

    __slots__ = ("_text",)
    _text: Said

    def __new__(cls, text: Said) -> Self:
        made = super().__new__(cls, _large(text.told(ENGLISH)))
        made._text = text
        return made

    def told(self, language: str) -> str:
        return _large(self._text.told(language))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self._text,)


def say(msgid: str, /, *, ctx: str = "", **values: Any) -> Said:
    """Return a sentence whose {gaps} are filled by `values`: text, Said, numbers, and dates, which read as 3 May 2031.

    `ctx` says what a word is about where English has one word for two things: say("none", ctx="of pictures").
    The sentence stands written out in the call, so that it is found for the catalogues.

    >>> say("There is no pair {name}.", name="dunlin")
    'There is no pair dunlin.'
    """
    return _Sentence(msgid, "", 0, values, ctx)


def say_n(one: str, many: str, n: int, /, *, ctx: str = "", **values: Any) -> Said:
    """Return the sentence for one or for many, in which {n} is the count; other languages may have more forms, or one.

    >>> say_n("{n} pair", "{n} pairs", 2)
    '2 pairs'
    """
    return _Sentence(one, many, n, {"n": n, **values}, ctx)


def joined(between: str, parts: Iterable[object]) -> Said:
    """Return texts in a row; `between` is a sign that all languages share."""
    return _Joined(between, parts)


def listed(parts: Iterable[object]) -> Said:
    """Return texts as a language lists them.

    >>> listed(["buff", "grey", "rusty"])
    'buff, grey and rusty'
    """
    return _Joined("", parts, is_list=True)


def within(label: str) -> Said:
    """Return a label that somebody has written as it stands within a sentence: English begins it small, other languages leave it.

    >>> within("Crown stripe")
    'crown stripe'
    """
    return _Within(label)


def value_told(value: object, language: str) -> str:
    """Return anything that stands in a sentence as it reads in a language."""
    if isinstance(value, Said):
        return value.told(language)
    return locales.date_words(value, language) if isinstance(value, date) else str(value)


def all_told(value: Any, language: str) -> Any:
    """Return lists and dicts, however deep, with every Said in them in a language: what goes out as JSON."""
    if isinstance(value, Said):
        return value.told(language)
    if isinstance(value, dict):
        return {all_told(key, language): all_told(one, language) for key, one in value.items()}
    return [all_told(one, language) for one in value] if isinstance(value, list | tuple) else value


def _filled(text: str, values: Mapping[str, Any], language: str) -> str:
    if not values:
        return text
    return text.format_map({name: Value(value, language) for name, value in values.items()})


class Value:
    """One value in a gap, as a language writes it; a number may say its form as in Python: {share:.1f}, {count:,}."""

    __slots__ = ("_language", "_value")

    def __init__(self, value: object, language: str) -> None:
        self._value, self._language = value, language

    def __format__(self, spec: str) -> str:
        if spec and isinstance(self._value, int | float):
            return locales.number_as(self._value, spec, self._language)
        return value_told(self._value, self._language)

    def __html_format__(self, spec: str) -> Markup:
        """Return the value for a gap in markup: escaped, unless it is markup itself."""
        if isinstance(self._value, Markup):
            return self._value
        return escape(format(self, spec))


def _large(text: str) -> str:
    return text[:1].upper() + text[1:]
