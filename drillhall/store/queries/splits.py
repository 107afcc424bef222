"""Which pictures of a catalogue are named by a concept that has been split since."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow
from drillhall.store.models.concepts import ConceptMappingRow, ConceptRow, FormRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.queries.curating import accepted

PARTLY = ("partiallyOverlaps", "intersects")


def named_before_a_split(db: Session, catalogue_id: int) -> list[int]:
    """Return the pictures said to show a form of a concept of which the catalogue teaches a part, or one that shares members with it.

    A wider concept of which the catalogue teaches no part is none that was split here.
    """
    taught = set(
        db.scalars(
            select(FormRow.concept_id)
            .join(CatalogueFormRow, CatalogueFormRow.form_id == FormRow.id)
            .where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.retired_at.is_(None))
        )
    )
    split = {wide for wide, part in _wide_and_part(db, catalogue_id, taught) if part in taught and wide != part}
    query = (
        select(PictureRow.id)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .join(FormRow, FormRow.id == PictureRow.form_id)
        .where(accepted(catalogue_id), FormRow.concept_id.in_(split))
    )
    return list(db.scalars(query.order_by(PictureRow.id)))


def _wide_and_part(db: Session, catalogue_id: int, taught: set[int]) -> list[tuple[int, int]]:
    """Return (wider, narrower) as a catalogue maps them, each as the concept on which forms hang.

    Of two that overlap, the one that is not taught counts as the wider.
    """
    rows = db.scalars(select(ConceptMappingRow).where(ConceptMappingRow.catalogue_id == catalogue_id)).all()
    named = {concept for row in rows for concept in (row.subject_id, row.object_id)}
    bounds = {row.id: row.same_as or row.id for row in db.scalars(select(ConceptRow).where(ConceptRow.id.in_(named)))}
    found = []
    for row in rows:
        subject, other = bounds[row.subject_id], bounds[row.object_id]
        if row.relation == "includes" or (row.relation in PARTLY and subject not in taught):
            found.append((subject, other))
        elif row.relation == "isIncludedIn" or (row.relation in PARTLY and other not in taught):
            found.append((other, subject))
    return found
