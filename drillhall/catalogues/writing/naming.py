"""Finds or makes what the whole hall shares: concepts, their names, forms and pairs."""

from __future__ import annotations

from sqlalchemy import select, tuple_
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderCatalogue
from drillhall.catalogues.writing.joining import join_congruent
from drillhall.catalogues.writing.mapped import add_other_names, bounds_of
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, PairRow, VernacularRow


def concepts_of(db: Session, catalogue: FolderCatalogue) -> dict[str, int]:
    """Return the ids of the concepts that a catalogue names by taxonConceptID; those that the hall lacks are made.

    Those said to be congruent come to hang on one of them, so that history follows. Raises BadImport where it cannot.
    """
    named = [concept for mapping in catalogue.mappings for concept in (mapping.object, mapping.subject)]
    wanted = list(dict.fromkeys([*(form.taxon_concept_id for form in catalogue.forms), *named]))
    rows = {row.taxon_concept_id: row for row in db.scalars(select(ConceptRow).where(ConceptRow.taxon_concept_id.in_(wanted)))}
    made = [concept for concept in wanted if concept not in rows]
    for concept in made:
        rows[concept] = ConceptRow(taxon_concept_id=concept)
        db.add(rows[concept])
    db.flush()
    join_congruent(db, catalogue, rows, made)
    return {concept: row.id for concept, row in rows.items()}


def names_of(db: Session, catalogue: FolderCatalogue, concepts: dict[str, int]) -> dict[str, tuple[int, int]]:
    """Return the ids of each form's scientific and common name by form key; those that the hall lacks are made."""
    names = {
        (row.concept_id, row.scientific_name): row
        for row in db.scalars(select(NameRow).where(NameRow.concept_id.in_(concepts.values()), NameRow.according_to == catalogue.list_name))
    }
    spoken = select(VernacularRow).where(VernacularRow.concept_id.in_(concepts.values()), VernacularRow.language == catalogue.language)
    vernaculars = {(row.concept_id, row.name): row for row in db.scalars(spoken)}
    for form in catalogue.forms:
        concept_id = concepts[form.taxon_concept_id]
        name = names.setdefault(
            (concept_id, form.scientific_name),
            NameRow(concept_id=concept_id, according_to=catalogue.list_name, scientific_name=form.scientific_name),
        )
        name.taxon_rank = form.taxon_rank
        vernacular = vernaculars.setdefault(
            (concept_id, form.vernacular_name),
            VernacularRow(concept_id=concept_id, language=catalogue.language, name=form.vernacular_name),
        )
        db.add_all((name, vernacular))
        add_other_names(db, form, concept_id)
    db.flush()
    by_key = {}
    for form in catalogue.forms:
        concept_id = concepts[form.taxon_concept_id]
        by_key[form.key] = (names[concept_id, form.scientific_name].id, vernaculars[concept_id, form.vernacular_name].id)
    return by_key


def forms_of(db: Session, catalogue: FolderCatalogue, concepts: dict[str, int]) -> dict[str, int]:
    """Return the ids of the hall's forms by the catalogue's keys; those that the hall lacks are made."""
    bounds = bounds_of(db, concepts.values())
    known = {
        (row.concept_id, row.sex, row.life_stage, row.plumage, row.variant): row
        for row in db.scalars(select(FormRow).where(FormRow.concept_id.in_(bounds.values())))
    }
    rows = {}
    for form in catalogue.forms:
        concept_id = bounds[concepts[form.taxon_concept_id]]
        identity = (concept_id, form.sex, form.life_stage, form.plumage, form.variant)
        if identity not in known:
            known[identity] = FormRow(
                concept_id=concept_id, sex=form.sex, life_stage=form.life_stage, plumage=form.plumage, variant=form.variant
            )
            db.add(known[identity])
        rows[form.key] = known[identity]
    db.flush()
    return {key: row.id for key, row in rows.items()}


def find_forms(db: Session, catalogue: FolderCatalogue) -> dict[str, int]:
    """Return the ids of those of a catalogue's forms that the hall has, by its keys, those of congruent concepts too; reads only."""
    named = {form.taxon_concept_id for form in catalogue.forms}
    rows = db.scalars(select(ConceptRow).where(ConceptRow.taxon_concept_id.in_(named)))
    bounds = {row.taxon_concept_id: row.same_as or row.id for row in rows}
    known = {
        (row.concept_id, row.sex, row.life_stage, row.plumage, row.variant): row.id
        for row in db.scalars(select(FormRow).where(FormRow.concept_id.in_(bounds.values())))
    }
    identities = {form.key: (bounds.get(form.taxon_concept_id, 0), *form.identity[1:]) for form in catalogue.forms}
    return {key: known[identity] for key, identity in identities.items() if identity in known}


def pairs_of(db: Session, catalogue: FolderCatalogue, forms: dict[str, int]) -> dict[str, int]:
    """Return the ids of the hall's pairs by the catalogue's pair keys, the lower form id first; those that the hall lacks are made."""
    wanted = {}
    for pair in catalogue.pairs:
        low, high = sorted((forms[pair.forms[0]], forms[pair.forms[1]]))
        wanted[pair.key] = (low, high)
    found = select(PairRow).where(tuple_(PairRow.first_form_id, PairRow.second_form_id).in_(list(wanted.values())))
    known = {(row.first_form_id, row.second_form_id): row for row in db.scalars(found)}
    for sides in wanted.values():
        if sides not in known:
            known[sides] = PairRow(first_form_id=sides[0], second_form_id=sides[1])
            db.add(known[sides])
    db.flush()
    return {key: known[sides].id for key, sides in wanted.items()}
