"""Keeps what a catalogue says of names under other lists, and of how the boundaries of concepts lie to each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlalchemy import delete, select
from sqlalchemy.orm import Session, aliased

from drillhall.catalogues.folder import FolderCalled, FolderCatalogue, FolderForm, FolderMapping, FolderName
from drillhall.store.models.concepts import ConceptMappingRow, ConceptRow, NameRow, VernacularRow


def names_out(names: Iterable[FolderName]) -> list[dict[str, str]]:
    """Return names under other lists as they are stored."""
    return [{"list": one.list_name, "scientificName": one.scientific_name, "vernacularName": one.vernacular_name} for one in names]


def names_in(stored: Iterable[Mapping[str, str]]) -> tuple[FolderName, ...]:
    """Return stored names under other lists as values."""
    return tuple(FolderName(one["list"], one["scientificName"], one["vernacularName"]) for one in stored)


def called_out(names: Iterable[FolderCalled]) -> list[dict[str, str]]:
    """Return names in other languages as they are stored."""
    return [{"language": one.language, "vernacularName": one.name} for one in names]


def called_in(stored: Iterable[Mapping[str, str]]) -> tuple[FolderCalled, ...]:
    """Return stored names in other languages as values."""
    return tuple(FolderCalled(one["language"], one["vernacularName"]) for one in stored)


def bounds_of(db: Session, concept_ids: Iterable[int]) -> dict[int, int]:
    """Return the concept on which the forms of each concept hang: itself, or the one known before it with the same boundary."""
    rows = db.scalars(select(ConceptRow).where(ConceptRow.id.in_(sorted(set(concept_ids)))))
    return {row.id: row.same_as or row.id for row in rows}


def add_other_names(db: Session, form: FolderForm, concept_id: int) -> None:
    """Make the names that other lists and languages give a form's concept, where the hall lacks them; none is ever taken away."""
    for name in form.also_named:
        is_it = (
            NameRow.concept_id == concept_id,
            NameRow.according_to == name.list_name,
            NameRow.scientific_name == name.scientific_name,
        )
        if db.scalars(select(NameRow.id).where(*is_it)).first() is None:
            db.add(NameRow(concept_id=concept_id, according_to=name.list_name, scientific_name=name.scientific_name))
            db.flush()
    for one in form.called:
        called = {"concept_id": concept_id, "language": one.language, "name": one.name}
        if db.scalars(select(VernacularRow.id).filter_by(**called)).first() is None:
            db.add(VernacularRow(**called))
            db.flush()


def write_mappings(db: Session, catalogue: FolderCatalogue, catalogue_id: int, concepts: Mapping[str, int]) -> None:
    """Make the stored mappings of a catalogue what it says; which concepts share history is settled when they are made."""
    if stored_mappings(db, catalogue_id) == catalogue.mappings:
        return
    db.execute(delete(ConceptMappingRow).where(ConceptMappingRow.catalogue_id == catalogue_id))
    db.add_all(
        ConceptMappingRow(
            catalogue_id=catalogue_id,
            subject_id=concepts[mapping.subject],
            object_id=concepts[mapping.object],
            relation=mapping.relation,
            according_to=mapping.according_to,
            place=place,
        )
        for place, mapping in enumerate(catalogue.mappings)
    )
    db.flush()


def stored_mappings(db: Session, catalogue_id: int) -> tuple[FolderMapping, ...]:
    """Return the mappings that a catalogue says, in its order."""
    subject, other = aliased(ConceptRow), aliased(ConceptRow)
    query = (
        select(subject.taxon_concept_id, ConceptMappingRow.relation, other.taxon_concept_id, ConceptMappingRow.according_to)
        .join(subject, subject.id == ConceptMappingRow.subject_id)
        .join(other, other.id == ConceptMappingRow.object_id)
        .where(ConceptMappingRow.catalogue_id == catalogue_id)
        .order_by(ConceptMappingRow.place, ConceptMappingRow.id)
    )
    return tuple(FolderMapping(one, relation, two, source) for one, relation, two, source in db.execute(query))
