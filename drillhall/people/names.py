"""How a person's name is told from another's: by what the eye reads, not by capitals or by how a letter is put together."""

from __future__ import annotations

import unicodedata

from drillhall.errors import Invalid
from drillhall.words import say

MOST = 60
MOST_FOLDED = 120


def clean_name(typed: str) -> str:
    """Return the name as it is kept and shown: composed, without stray spaces, or raise Invalid."""
    name = " ".join(unicodedata.normalize("NFKC", typed).split())
    if not name:
        raise Invalid(say("Write a name. Any name will do; others see it as you write it."), field="name")
    if len(name) > MOST or len(fold_name(name)) > MOST_FOLDED:
        raise Invalid(say("That name has {len} letters; {most} is the most. Write a shorter one.", len=len(name), most=MOST), field="name")
    # Other (C*) holds controls, direction switches and invisible joiners, by which one name can be made to look like another.
    if any(unicodedata.category(letter).startswith("C") for letter in name):
        raise Invalid(say("That name holds a sign that cannot be seen. Type it anew, with plain letters."), field="name")
    if not any(letter.isalnum() for letter in name):
        raise Invalid(say("A name needs at least one letter or digit. Add one."), field="name")
    return name


def fold_name(name: str) -> str:
    """Return the spelling by which names are compared.

    >>> fold_name("  ODA   Querfurth ") == fold_name("oda querfurth")
    True
    """
    once = unicodedata.normalize("NFKC", " ".join(unicodedata.normalize("NFKC", name).split()).casefold())
    # Half a letter, and the sign that ends strings, cannot stand in a database; no name that is kept holds one.
    return unicodedata.normalize("NFKC", once.casefold()).encode("utf-8", "replace").decode().replace("\x00", "?")
