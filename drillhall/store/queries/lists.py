"""What lists call forms: a catalogue's own word on it, the hall's names by concept, and those of wider concepts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from drillhall.core.terms import CONGRUENT
from drillhall.store.models.catalogue import CatalogueFormRow, CatalogueRow
from drillhall.store.models.concepts import ConceptMappingRow, ConceptRow, FormRow, NameRow, VernacularRow

Named = tuple[str, str]
"""Scientific and common name; the common one may be empty."""


def list_names(db: Session) -> list[str]:
    """Return every list under which the hall knows a name, sorted."""
    return list(db.scalars(select(NameRow.according_to).where(NameRow.according_to != "").distinct().order_by(NameRow.according_to)))


def concepts_of_forms(db: Session, form_ids: Iterable[int]) -> dict[int, int]:
    """Return the concept of each form."""
    query = select(FormRow.id, FormRow.concept_id).where(FormRow.id.in_(sorted(set(form_ids))))
    return {form_id: concept_id for form_id, concept_id in db.execute(query)}  # noqa: C416 - rows are no pairs to a type checker


def also_named(db: Session, catalogue_id: int, form_ids: Iterable[int], *, list_name: str) -> dict[int, Named]:
    """Return what a catalogue says that a list calls some of its forms."""
    query = select(CatalogueFormRow.form_id, CatalogueFormRow.also_named).where(
        CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.form_id.in_(sorted(set(form_ids)))
    )
    return {
        form_id: (one["scientificName"], one["vernacularName"])
        for form_id, names in db.execute(query)
        for one in names
        if one["list"] == list_name
    }


def names_under(db: Session, concept_ids: Iterable[int], *, list_name: str, language: str) -> dict[int, Named]:
    """Return the name of each concept under a list: its own, that of one with the same boundary, else of one that includes it."""
    wanted = set(concept_ids)
    bearers: dict[int, list[int]] = {concept: [concept] for concept in wanted}
    for row in db.scalars(select(ConceptRow).where(ConceptRow.same_as.in_(wanted)).order_by(ConceptRow.id)):
        bearers[row.same_as or 0].append(row.id)
    wider = _wider(db, {bearer for found in bearers.values() for bearer in found})
    for found in bearers.values():
        found += [concept for bearer in list(found) for concept in wider.get(bearer, ())]
    every = {bearer for found in bearers.values() for bearer in found}
    latin: dict[int, str] = {}
    of_list = select(NameRow).where(NameRow.concept_id.in_(every), NameRow.according_to == list_name).order_by(NameRow.id)
    for name in db.scalars(of_list):
        latin[name.concept_id] = name.scientific_name
    spoken = select(VernacularRow).where(VernacularRow.concept_id.in_(latin), VernacularRow.language == language)
    common = {word.concept_id: word.name for word in db.scalars(spoken.order_by(VernacularRow.id))}
    named = {concept: next((one for one in found if one in latin), None) for concept, found in bearers.items()}
    return {concept: (latin[bearer], common.get(bearer, "") if bearer != concept else "") for concept, bearer in named.items() if bearer}


def _wider(db: Session, concept_ids: set[int]) -> dict[int, list[int]]:
    """Return, for each of some concepts, those that include it or have its boundary, as any catalogue in use says."""
    query = (
        select(ConceptMappingRow)
        .join(CatalogueRow, CatalogueRow.id == ConceptMappingRow.catalogue_id)
        .where(
            CatalogueRow.retired_at.is_(None),
            or_(ConceptMappingRow.subject_id.in_(concept_ids), ConceptMappingRow.object_id.in_(concept_ids)),
        )
        .order_by(ConceptMappingRow.id)
    )
    found: dict[int, list[int]] = defaultdict(list)
    for row in db.scalars(query):
        if row.relation in ("isIncludedIn", CONGRUENT):
            found[row.subject_id].append(row.object_id)
        if row.relation in ("includes", CONGRUENT):
            found[row.object_id].append(row.subject_id)
    return found
