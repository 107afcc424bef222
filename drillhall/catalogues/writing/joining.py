"""Joins concepts that are said to have one boundary, so that history follows; refuses where this hall has learnt them apart."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sqlalchemy import or_, select, update
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import CATALOGUE_FILE, Fault, FolderCatalogue, FolderMapping
from drillhall.catalogues.places import within_file
from drillhall.core.terms import CONGRUENT
from drillhall.errors import BadImport
from drillhall.store.models.concepts import ConceptRow, FormRow
from drillhall.words import say

MEND = say("Say it on the page Lumps and splits of a catalogue here, which shows first what becomes one, or take this mapping out.")


def join_congruent(db: Session, catalogue: FolderCatalogue, rows: Mapping[str, ConceptRow], made: Collection[str]) -> None:
    """Hang a concept, its forms and whatever hangs on it already on the one with the same boundary, for each pair said to be congruent.

    One just made hangs on the one known before; of two just made, the subject on the object; of two known, the later on the earlier.
    Raises BadImport where both have a form that wears the same.
    """
    fresh = {rows[concept].id for concept in made}
    for mapping in _congruent(catalogue):
        stays, joins = _which(rows[mapping.subject], rows[mapping.object], fresh)
        if stays == joins:
            continue
        if worn := _worn(db, stays) & _worn(db, joins):
            raise BadImport(say("Nothing was kept. {fault}", fault=_told(mapping, worn).line))
        db.execute(update(FormRow).where(FormRow.concept_id == joins).values(concept_id=stays))
        db.execute(update(ConceptRow).where(or_(ConceptRow.id == joins, ConceptRow.same_as == joins)).values(same_as=stays))
        db.flush()


def learnt_apart(db: Session, catalogue: FolderCatalogue) -> tuple[Fault, ...]:
    """Return a fault for each two concepts said to be congruent of which this hall has forms that wear the same; reads only."""
    said = _congruent(catalogue)
    named = {concept for mapping in said for concept in (mapping.subject, mapping.object)}
    rows = {row.taxon_concept_id: row for row in db.scalars(select(ConceptRow).where(ConceptRow.taxon_concept_id.in_(named)))}
    faults = []
    for mapping in said:
        if mapping.subject in rows and mapping.object in rows:
            stays, joins = _which(rows[mapping.subject], rows[mapping.object], ())
            if stays != joins and (worn := _worn(db, stays) & _worn(db, joins)):
                faults.append(_told(mapping, worn))
    return tuple(faults)


def _congruent(catalogue: FolderCatalogue) -> list[FolderMapping]:
    return [mapping for mapping in catalogue.mappings if mapping.relation == CONGRUENT]


def _which(subject: ConceptRow, other: ConceptRow, fresh: Collection[int]) -> tuple[int, int]:
    """Return the concept that stays and the one that joins it, each as the one on which forms hang."""
    first, second = subject.same_as or subject.id, other.same_as or other.id
    if first in fresh:
        return second, first
    return (first, second) if second in fresh else (min(first, second), max(first, second))


def _worn(db: Session, concept_id: int) -> set[tuple[str, ...]]:
    query = select(FormRow.sex, FormRow.life_stage, FormRow.plumage, FormRow.variant).where(FormRow.concept_id == concept_id)
    return {tuple(words) for words in db.execute(query)}


def _told(mapping: FolderMapping, worn: set[tuple[str, ...]]) -> Fault:
    wears = " ".join(word for word in min(worn) if word) or say("one without further words")
    wrong = say(
        "This hall has learnt {subject} and {object} apart, each with a form of its own ({wears}).",
        subject=mapping.subject,
        object=mapping.object,
        wears=wears,
    )
    return Fault(within_file(CATALOGUE_FILE, say("mappings")), wrong, MEND)
