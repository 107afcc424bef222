"""The credit that a picture asks for: a short one that gives nothing away before the answer, the whole one after it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from drillhall.core.rights.values import Rights
from drillhall.core.term_words import MEDIA
from drillhall.words import Said, joined, say

_NAMELESS: Final = say("maker not named")
ALTERED_WORDS: Final[Mapping[str, Said]] = MappingProxyType(
    {"cut": say("cut"), "far off": say("shown as from far off"), "shape only": say("shown as a bare shape")}
)
"""What was done to a picture, by the rendition in which it is shown: to follow its licence."""


def altered_words(renditions: Iterable[str]) -> Said:
    """Return what was done to a picture that is shown in some renditions, empty where it is shown as it was taken.

    Examples
    --------
    >>> altered_words(["as taken", "cut", "far off"]), altered_words(["as taken"])
    ('cut, shown as from far off', '')
    """
    shown = set(renditions)
    return joined(", ", (words for rendition, words in ALTERED_WORDS.items() if rendition in shown))


def credit_line(rights: Rights, medium: str, *, altered: str = "") -> Said:
    """Return the whole credit: title, maker, wished credit, source, licence with its address, and what was changed.

    It may give the answer away, so it is shown only afterwards. `altered` says what was done, for instance "in greys".

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> credit_line(Rights("Ada Mudd", CC0, "Ada Mudd", title="On the flats"), "Photograph", altered="in greys")
    'Photograph: “On the flats” by Ada Mudd, CC0 1.0 (https://creativecommons.org/publicdomain/zero/1.0/), in greys'
    """
    licence = rights.licence
    grant = licence_name(rights) if licence is None or not licence.url else f"{licence.name} ({licence.url})"
    return joined(", ", (part for part in (maker_line(rights, medium), grant, altered) if part))


def maker_line(rights: Rights, medium: str) -> Said:
    """Return the credit up to the licence: title, maker, wished credit and source; a page links the licence itself.

    Where the wished credit names the maker, whole words of it, she is not named twice.

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> maker_line(Rights("Ada Mudd", CC0, "Ada Mudd, Shore Club"), "Photograph")
    'Photograph: Ada Mudd, Shore Club'
    >>> maker_line(Rights("Li", CC0, "Lilian's Pictures"), "Photograph")
    "Photograph: Li, Lilian's Pictures"
    """
    maker = rights.creator or _NAMELESS
    wished = "" if rights.credit in ("", rights.creator) else rights.credit
    if not rights.title and re.search(rf"(?<!\w){re.escape(maker)}(?!\w)", wished):
        maker, wished = wished, ""
    made = say("“{title}” by {maker}", title=rights.title, maker=maker) if rights.title else maker
    return joined("", (_medium(medium), ": ", joined(", ", (part for part in (made, wished, rights.source) if part))))


def licence_name(rights: Rights) -> str:
    """Return the licence's name, or that none was given."""
    return say("no licence given") if rights.licence is None else rights.licence.name


def short_credit(rights: Rights, medium: str = "Photograph") -> Said:
    """Return maker and licence alone: what may stand beside a picture before it is answered.

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> short_credit(Rights("Ada Mudd", CC0, "Ada Mudd", title="Young dunlin"))
    'Photograph: Ada Mudd, CC0 1.0'
    """
    return joined("", (_medium(medium), ": ", rights.creator or _NAMELESS, ", ", licence_name(rights)))


def _medium(medium: str) -> str:
    return MEDIA[medium].capitalize() if medium in MEDIA else medium
