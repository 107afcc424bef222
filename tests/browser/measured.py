"""The small catalogue with the bill measured in the hand, for the pages that tell it."""

from __future__ import annotations

from sqlalchemy import delete, select

from drillhall.store.models.catalogue import CatalogueFormRow, FormMeasureRow, TraitRow
from tests.hall import Hall


def measure_bills(hall: Hall) -> None:
    """Let every form but the last be measured by the bill."""
    with hall.store.work() as db:
        bill = db.scalars(select(TraitRow).where(TraitRow.key == "bill")).one()
        bill.unit = "mm"
        db.execute(delete(FormMeasureRow))
        entries = db.scalars(select(CatalogueFormRow.id).order_by(CatalogueFormRow.id)).all()
        for place, entry in enumerate(entries[:-1]):
            db.add(FormMeasureRow(catalogue_form_id=entry, trait_id=bill.id, mean=38 + 5.5 * place, spread=2.1, n=40 * place or None))
