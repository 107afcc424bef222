"""Names the forms of what a group is given, as whoever reads wants them named, and so that no two of them read alike."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.term_words import in_words
from drillhall.core.values import Form, Rendition
from drillhall.practice.lore import the_forms
from drillhall.practice.naming import under_list
from drillhall.practice.reader import Reader
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.queries.teacher import GivenPair
from drillhall.words import Said, say

RENDITIONS: Final[Mapping[str, Said]] = {
    Rendition.AS_TAKEN.value: say("as taken"),
    Rendition.SHAPE_ONLY.value: say("shape only"),
    Rendition.FAR_OFF.value: say("far off"),
}
"""How a picture may be shown, in words."""


def forms_named(db: Session, rows: Iterable[GivenPair], reader: Reader) -> dict[int, Form]:
    """Return every form of some pairs by name; of two catalogues that have it, the earlier one names it."""
    forms: dict[int, set[int]] = defaultdict(set)
    for row in rows:
        forms[row.catalogue_id] |= {row.first_form_id, row.second_form_id}
    named: dict[int, Form] = {}
    for catalogue_id, form_ids in forms.items():
        catalogue = db.get_one(CatalogueRow, catalogue_id)
        named = under_list(db, catalogue, the_forms(db, catalogue, form_ids), reader.list_name) | named
    return named


@dataclass(frozen=True, slots=True)
class Finer:
    """What stands behind the name of a form whose name others bear too: what it wears, and where that is the same, what it is called."""

    wears: str = ""
    scientific_name: str = ""


def told_finer(forms: Iterable[Form]) -> dict[int, Finer]:
    """Return, by form, what tells it from the others that bear its name; nothing for a form whose name is its own."""
    every = {form.id: form for form in forms}.values()
    called = Counter(form.name.casefold() for form in every)
    worn = Counter((form.name.casefold(), form.wears.casefold()) for form in every)
    return {
        form.id: Finer(form.wears, form.scientific_name if worn[form.name.casefold(), form.wears.casefold()] > 1 else "")
        for form in every
        if called[form.name.casefold()] > 1
    }


def in_pairs(terms: Iterable[str], words: Mapping[str, Said]) -> tuple[tuple[str, str], ...]:
    """Return (term, word) of some controlled terms, as they are chosen from; a term that has no word stands as it is."""
    return tuple((term, in_words(term, words)) for term in terms)
