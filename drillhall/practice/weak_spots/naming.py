"""Names the forms of what a group is given, as whoever reads wants them named."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.practice.lore import the_forms
from drillhall.practice.naming import under_list
from drillhall.practice.reader import Reader
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.queries.teacher import GivenPair


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
