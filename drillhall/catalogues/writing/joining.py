"""Joins concepts that are said to have one boundary, so that history follows; refuses where this hall has learnt them apart."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sqlalchemy import exists, or_, select, update
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import CATALOGUE_FILE, Fault, FolderCatalogue, FolderMapping
from drillhall.catalogues.places import within_file
from drillhall.core.terms import CONGRUENT
from drillhall.errors import BadImport
from drillhall.store.models.catalogue import CatalogueFormRow, CatalogueRow, StewardRow
from drillhall.store.models.concepts import ConceptRow, FormRow
from drillhall.store.models.people import AccountRow
from drillhall.words import joined, say

MEND = say("Say it on the page Lumps and splits of a catalogue here, which shows first what becomes one, or take this mapping out.")
NOT_HERS = say("A catalogue that is not yours teaches one of the two, and they would become one in it too.")
MEND_NOT_HERS = say("Ask its steward to let you in as another one, or a keeper of the hall to say it.")


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


def is_taught_by_others(db: Session, concept_ids: Collection[int], *, by_id: int) -> bool:
    """Whether a catalogue in use that somebody may not write teaches a form of some concepts; to a keeper none does."""
    hers = exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == by_id)
    keeps = exists().where(AccountRow.id == by_id, AccountRow.is_keeper.is_(True))
    query = (
        select(CatalogueFormRow.id)
        .join(FormRow, FormRow.id == CatalogueFormRow.form_id)
        .join(CatalogueRow, CatalogueRow.id == CatalogueFormRow.catalogue_id)
        .where(FormRow.concept_id.in_(concept_ids), CatalogueFormRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None), ~hers, ~keeps)
    )
    return db.scalar(query.limit(1)) is not None


def learnt_apart(db: Session, catalogue: FolderCatalogue, *, by_id: int) -> tuple[Fault, ...]:
    """Return a fault for each two concepts said to be congruent that cannot become one by an import; reads only.

    That is where this hall has forms of both that wear the same, and where catalogues of others teach either.
    """
    said = _congruent(catalogue)
    named = {concept for mapping in said for concept in (mapping.subject, mapping.object)}
    rows = {row.taxon_concept_id: row for row in db.scalars(select(ConceptRow).where(ConceptRow.taxon_concept_id.in_(named)))}
    faults = []
    for mapping in said:
        if mapping.subject in rows and mapping.object in rows:
            stays, joins = _which(rows[mapping.subject], rows[mapping.object], ())
            if stays != joins and (worn := _worn(db, stays) & _worn(db, joins)):
                faults.append(_told(mapping, worn))
            elif stays != joins and is_taught_by_others(db, (stays, joins), by_id=by_id):
                faults.append(Fault(_place(), joined(": ", (f"{mapping.subject}, {mapping.object}", NOT_HERS)), MEND_NOT_HERS))
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
    return Fault(_place(), wrong, MEND)


def _place() -> str:
    return within_file(CATALOGUE_FILE, say("mappings"))
