"""A language that nobody speaks, for tests: English with marks and longer words, written from the right."""

from __future__ import annotations

import re
from importlib import import_module
from typing import Final

import pytest

from drillhall.web import languages
from drillhall.words import said
from drillhall.words.catalogues import Words, catalogue_of
from drillhall.words.speaking import LANGUAGES

PSEUDO: Final = "ar"
"""Its tag is that of a language that is written from the right, so that pages turn round."""
_ASIDE: Final = re.compile(r"(<[^>]*>|\{[^}]*\}|&\w+;)")
_LONGER: Final = str.maketrans({"a": "áá", "e": "éé", "i": "í", "o": "óó", "u": "ú"})


class _Pseudo(Words):
    """Words for every sentence, made of its English."""

    def find(self, msgid: str, count: int | None) -> str | None:
        """Return the sentence in marks: ⟦Áánswéér⟧; gaps and tags stay."""
        return marked(msgid.rpartition(said.CONTEXT)[2])


def marked(english: str) -> str:
    """Return a sentence longer and with marks, its gaps and tags as they are.

    >>> marked("Hold {n} <b>bars</b>")
    '⟦Hóóld {n} <b>báárs</b>⟧'
    """
    pieces = _ASIDE.split(english)
    return "⟦" + "".join(piece if place % 2 else piece.translate(_LONGER) for place, piece in enumerate(pieces)) + "⟧"


def speak_it(patch: pytest.MonkeyPatch) -> None:
    """Offer the language in halls of this process while the patch holds."""
    words = _Pseudo({}, int, catalogue_of("de").of_scripts)

    def find(language: str) -> Words:
        return words if language == PSEUDO else catalogue_of(language)

    patch.setitem(LANGUAGES, PSEUDO, "⟦Psééúdóó⟧")
    patch.setattr(import_module("drillhall.words.speaking"), "OFFERED", (*LANGUAGES,))
    patch.setattr(said, "catalogue_of", find)
    patch.setattr(languages, "catalogue_of", find)
