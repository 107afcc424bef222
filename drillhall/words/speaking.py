"""Which language is spoken: there is a list of those kept and of those offered, and one is asked for or set for a while."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

ENGLISH: Final = "en"
LANGUAGES: Final = {"en": "English", "de": "Deutsch"}
"""The languages that are kept, each by its own name; all but English have a folder of catalogues beside this file."""
OFFERED: Final = (ENGLISH, "de")
"""Those that say everything: whoever chooses one reads every page in it. One that is being written is kept, and not offered."""


def _english() -> str:
    return ENGLISH


_ASK: ContextVar[Callable[[], str]] = ContextVar("how the language is asked for", default=_english)


def speaking() -> str:
    """Return the language that is spoken now: the reader's in a request, English elsewhere."""
    return _ASK.get()()


def ask_by(find: Callable[[], str]) -> None:
    """Let the language be asked for by a function from here on: whoever reads may not be known before something is told."""
    _ASK.set(find)


@contextmanager
def speak(language: str) -> Iterator[None]:
    """Speak a language within a block, as for a letter to somebody else."""
    before = _ASK.set(lambda: language)
    try:
        yield
    finally:
        _ASK.reset(before)


def offered() -> dict[str, str]:
    """Return the languages that one may choose, each by its own name."""
    return {language: LANGUAGES[language] for language in OFFERED}


def known_language(tag: str) -> str:
    """Return the language on offer that a tag means, whatever its region, or empty.

    >>> known_language("de-AT")
    'de'
    """
    primary = tag.replace("_", "-").partition("-")[0].lower()
    return primary if primary in OFFERED else ""
