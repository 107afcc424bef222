"""The catalogues of words: a folder a language, a PO file a room, read once in a process and merged."""

from __future__ import annotations

import gettext
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).resolve().parent
SCRIPTS: Final = "js"
"""The room of the words that scripts say."""


@dataclass(frozen=True, slots=True)
class Words:
    """What a language says for English sentences: `forms` by the sentence, as many as it has plural forms, chosen by `plural`.

    `of_scripts` names the sentences that scripts say, each with whether it has a plural.
    """

    forms: Mapping[str, tuple[str, ...]]
    plural: Callable[[int], int]
    of_scripts: tuple[tuple[str, bool], ...] = ()

    def find(self, msgid: str, count: int | None) -> str | None:
        """Return the words for a sentence, of a plural the form for `count`, or None where nobody has said it yet."""
        forms = self.forms.get(msgid)
        if forms is None:
            return None
        return forms[0] if count is None else forms[self.plural(count)]


@cache
def catalogue_of(language: str) -> Words:
    """Return the words of a language, those of all its rooms together; none at all where there is no such folder."""
    return read_words(FOLDER / language, language)


def read_words(folder: Path, language: str) -> Words:
    """Return the words in a folder of PO files; a sentence with an empty or a doubtful (fuzzy) translation counts as not said."""
    # Only who speaks another language waits for it.
    from babel.messages.plurals import get_plural
    from babel.messages.pofile import read_po

    forms: dict[str, tuple[str, ...]] = {}
    of_scripts: list[tuple[str, bool]] = []
    for path in sorted(folder.glob("*.po")):
        with path.open("rb") as file:
            for message in read_po(file, locale=language):
                msgid = message.id if isinstance(message.id, str) else message.id[0]
                told = (message.string,) if isinstance(message.string, str) else tuple(message.string or ("",))
                if msgid and all(told) and not message.fuzzy:
                    forms[f"{message.context}\x04{msgid}" if message.context else msgid] = told
                    of_scripts += [(msgid, len(told) > 1)] if path.stem == SCRIPTS else []
    return Words(forms, gettext.c2py(get_plural(language).plural_expr), tuple(of_scripts))
