"""Writes what forms measure into the store, and reads it out."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderCatalogue
from drillhall.core.values import Measured
from drillhall.store.models.catalogue import CatalogueFormRow, FormMeasureRow, TraitRow


def write_measures(db: Session, catalogue: FolderCatalogue, held: Mapping[str, CatalogueFormRow], traits: Mapping[str, TraitRow]) -> None:
    """Make the measures what is said of them; no answer names one, so those unsaid are deleted."""
    wanted = {(held[form.key].id, traits[key].id): one for form in catalogue.forms for key, one in form.measures.items()}
    stored = db.scalars(select(FormMeasureRow).where(FormMeasureRow.catalogue_form_id.in_([row.id for row in held.values()])))
    rows = {(row.catalogue_form_id, row.trait_id): row for row in stored}
    for place, one in wanted.items():
        row = rows.pop(place, None) or FormMeasureRow(catalogue_form_id=place[0], trait_id=place[1])
        row.mean, row.spread, row.n = one.mean, one.spread, one.n
        db.add(row)
    for row in rows.values():
        db.delete(row)
    db.flush()


def stored_measures(db: Session, catalogue_id: int) -> dict[int, dict[str, Measured]]:
    """Return what forms measure, by the catalogue's form and trait, without traits that have been retired."""
    query = (
        select(FormMeasureRow, TraitRow.key)
        .join(TraitRow, TraitRow.id == FormMeasureRow.trait_id)
        .where(TraitRow.catalogue_id == catalogue_id, TraitRow.retired_at.is_(None))
        .order_by(TraitRow.place, TraitRow.id)
    )
    said: dict[int, dict[str, Measured]] = {}
    for row, trait in db.execute(query):
        said.setdefault(row.catalogue_form_id, {})[trait] = Measured(row.mean, row.spread, row.n)
    return said
