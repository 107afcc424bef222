"""Under what names forms are known: their keys in catalogues, and every scientific and common name of their concepts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueFormRow, CatalogueRow, TraitRow
from drillhall.store.models.concepts import FormRow, NameRow, VernacularRow


def keyed_forms(db: Session, catalogue_ids: Sequence[int]) -> list[tuple[CatalogueRow, str, FormRow]]:
    """Return the forms in use of some catalogues, each with its key there."""
    query = (
        select(CatalogueRow, CatalogueFormRow.key, FormRow)
        .join(CatalogueFormRow, CatalogueFormRow.catalogue_id == CatalogueRow.id)
        .join(FormRow, FormRow.id == CatalogueFormRow.form_id)
        .where(CatalogueRow.id.in_(catalogue_ids), CatalogueFormRow.retired_at.is_(None))
        .order_by(CatalogueRow.key, CatalogueFormRow.place, CatalogueFormRow.id)
    )
    return [(catalogue, key, form) for catalogue, key, form in db.execute(query)]


def scientific_names(db: Session, concept_ids: Iterable[int]) -> dict[int, list[NameRow]]:
    """Return every scientific name of some concepts, whatever list gives it."""
    names = defaultdict(list)
    for row in db.scalars(select(NameRow).where(NameRow.concept_id.in_(set(concept_ids))).order_by(NameRow.id)):
        names[row.concept_id].append(row)
    return names


def common_names(db: Session, concept_ids: Iterable[int]) -> dict[int, list[str]]:
    """Return every common name of some concepts, in whatever language."""
    names = defaultdict(list)
    for row in db.scalars(select(VernacularRow).where(VernacularRow.concept_id.in_(set(concept_ids))).order_by(VernacularRow.id)):
        names[row.concept_id].append(row.name)
    return names


def trait_ids(db: Session, catalogue_ids: Iterable[int]) -> dict[tuple[int, str], int]:
    """Return the traits in use of some catalogues: (catalogue, key) → id."""
    query = select(TraitRow).where(TraitRow.catalogue_id.in_(set(catalogue_ids)), TraitRow.retired_at.is_(None))
    return {(row.catalogue_id, row.key): row.id for row in db.scalars(query)}
