"""Makes the id of a concept that a catalogue does not give: the list that bounds it, and the name it has there."""

from __future__ import annotations

import hashlib
import unicodedata
from typing import Final

LONGEST: Final = 200


def concept_id(list_name: str, scientific_name: str) -> str:
    """Return a dwc:taxonConceptID made from list and scientific name; the same two always give the same id.

    Letters of any script stay, in small; all else becomes hyphens.

    >>> concept_id("Example Estuary List 2031", "Fictavis limosa")
    'example-estuary-list-2031/fictavis-limosa'
    """
    made = f"{_slug(list_name)}/{_slug(scientific_name)}"
    if len(made) > LONGEST:
        made = f"{made[: LONGEST - 17]}-{hashlib.sha256(made.encode()).hexdigest()[:16]}"
    return made


def _slug(text: str) -> str:
    folded = unicodedata.normalize("NFKC", text).casefold()
    words = "".join(sign if sign.isalnum() or unicodedata.combining(sign) else " " for sign in folded).split()
    return "-".join(words)
