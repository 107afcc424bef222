"""Writes what a folder says into the store: makes, changes, retires and takes back rows, and touches none that says the same."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderCatalogue, FolderTrait, SaidChance
from drillhall.catalogues.writing.extras import to_json
from drillhall.catalogues.writing.mapped import called_out, names_out, write_mappings
from drillhall.catalogues.writing.measures import write_measures
from drillhall.catalogues.writing.naming import concepts_of, forms_of, names_of, pairs_of
from drillhall.catalogues.writing.retiring import rename, retire
from drillhall.catalogues.writing.sets import write_sets
from drillhall.core.tongues import words_out
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CatalogueRow,
    FormTraitRow,
    StateRow,
    ThirdRow,
    TraitRow,
)


@dataclass(frozen=True, slots=True)
class Written:
    """The ids under which a catalogue now stands in the store: forms hall-wide and traits, by the catalogue's keys."""

    catalogue_id: int
    form_ids: Mapping[str, int]
    trait_ids: Mapping[str, int]


def write_rows(db: Session, catalogue: FolderCatalogue, *, at: datetime) -> Written:
    """Make the store say what the catalogue says, its pictures left aside; needs a catalogue without faults.

    What the catalogue no longer says is retired; what it says again is taken back.
    """
    row = _write_head(db, catalogue, at=at)
    concepts = concepts_of(db, catalogue)
    write_mappings(db, catalogue, row.id, concepts)
    forms = forms_of(db, catalogue, concepts)
    names = names_of(db, catalogue, concepts)
    traits = _write_traits(db, catalogue, row.id, at=at)
    states = {key: _write_states(db, traits[key], trait, at=at) for key, trait in ((trait.key, trait) for trait in catalogue.traits)}
    held = _write_forms(db, catalogue, row.id, forms, names, at=at)
    _write_chances(db, catalogue, held, states)
    write_measures(db, catalogue, held, traits)
    pairs = _write_pairs(db, catalogue, row.id, pairs_of(db, catalogue, forms), at=at)
    _write_thirds(db, catalogue, pairs, held, traits)
    write_sets(db, catalogue, row.id, {key: pair.id for key, pair in pairs.items()}, at=at)
    return Written(row.id, forms, {key: trait.id for key, trait in traits.items()})


def _write_head(db: Session, catalogue: FolderCatalogue, *, at: datetime) -> CatalogueRow:
    row = db.scalar(select(CatalogueRow).where(CatalogueRow.key == catalogue.key))
    if row is None:
        row = CatalogueRow(key=catalogue.key, made_at=at)
        db.add(row)
    row.title, row.language, row.subject = catalogue.title, catalogue.language, catalogue.subject
    row.list_name, row.note = catalogue.list_name, catalogue.note
    parts = {"catalogue": catalogue.extra, "beside": catalogue.beside, "sets": catalogue.sets_beside}
    row.extra = to_json({name: said for name, said in parts.items() if said})
    row.changed_at, row.retired_at = at, None
    db.flush()
    return row


def _write_traits(db: Session, catalogue: FolderCatalogue, catalogue_id: int, *, at: datetime) -> dict[str, TraitRow]:
    rows = {row.key: row for row in db.scalars(select(TraitRow).where(TraitRow.catalogue_id == catalogue_id))}
    for place, trait in enumerate(catalogue.traits):
        row = rows.setdefault(trait.key, TraitRow(catalogue_id=catalogue_id, key=trait.key))
        row.label, row.ask, row.part, row.kind, row.note = trait.label, trait.ask, trait.part, trait.kind, trait.note
        row.unit, row.said = trait.unit, words_out(trait.said)
        row.place, row.extra, row.retired_at = place, to_json(trait.extra), None
        db.add(row)
    said = {trait.key for trait in catalogue.traits}
    retire((row for key, row in rows.items() if key not in said), at=at)
    db.flush()
    return {key: row for key, row in rows.items() if key in said}


def _write_states(db: Session, trait: TraitRow, said: FolderTrait, *, at: datetime) -> dict[str, int]:
    rows = {row.key: row for row in db.scalars(select(StateRow).where(StateRow.trait_id == trait.id))}
    for place, state in enumerate(said.states):
        row = rows.setdefault(state.key, StateRow(trait_id=trait.id, key=state.key))
        row.label, row.also_called, row.colour = state.label, list(state.also_called), state.colour
        row.place, row.extra, row.retired_at, row.said = place, to_json(state.extra), None, words_out(state.said)
        db.add(row)
    keys = {state.key for state in said.states}
    retire((row for key, row in rows.items() if key not in keys), at=at)
    db.flush()
    return {key: rows[key].id for key in keys}


def _write_forms(
    db: Session,
    catalogue: FolderCatalogue,
    catalogue_id: int,
    forms: Mapping[str, int],
    names: Mapping[str, tuple[int, int]],
    *,
    at: datetime,
) -> dict[str, CatalogueFormRow]:
    rows = {row.form_id: row for row in db.scalars(select(CatalogueFormRow).where(CatalogueFormRow.catalogue_id == catalogue_id))}
    rename(db, rows, {form_id: key for key, form_id in forms.items()})
    for place, form in enumerate(catalogue.forms):
        form_id = forms[form.key]
        row = rows.setdefault(form_id, CatalogueFormRow(catalogue_id=catalogue_id, form_id=form_id, key=form.key))
        row.name_id, row.vernacular_id = names[form.key]
        row.note, row.place, row.extra, row.retired_at = form.note, place, to_json(form.extra), None
        row.length_mm, row.commonness = form.length_mm, form.commonness
        row.also_named, row.called = names_out(form.also_named), called_out(form.called)
        db.add(row)
    retire((row for form_id, row in rows.items() if form_id not in set(forms.values())), at=at)
    db.flush()
    return {key: rows[form_id] for key, form_id in forms.items()}


def _write_chances(
    db: Session, catalogue: FolderCatalogue, held: Mapping[str, CatalogueFormRow], states: Mapping[str, Mapping[str, int]]
) -> None:
    """Make the chances what is said of them; no answer names one, so those unsaid are deleted."""
    wanted: dict[tuple[int, int], SaidChance] = {}
    for form in catalogue.forms:
        for trait, said in form.traits.items():
            for state, chance in said.items():
                wanted[held[form.key].id, states[trait][state]] = chance
    ids = [row.id for row in held.values()]
    rows = {
        (row.catalogue_form_id, row.state_id): row
        for row in db.scalars(select(FormTraitRow).where(FormTraitRow.catalogue_form_id.in_(ids)))
    }
    for place, chance in wanted.items():
        row = rows.pop(place, None) or FormTraitRow(catalogue_form_id=place[0], state_id=place[1])
        row.word, row.shown, row.of = chance.word, chance.shown, chance.of
        db.add(row)
    for row in rows.values():
        db.delete(row)
    db.flush()


def _write_pairs(
    db: Session, catalogue: FolderCatalogue, catalogue_id: int, pairs: Mapping[str, int], *, at: datetime
) -> dict[str, CataloguePairRow]:
    rows = {row.pair_id: row for row in db.scalars(select(CataloguePairRow).where(CataloguePairRow.catalogue_id == catalogue_id))}
    rename(db, rows, {pair_id: key for key, pair_id in pairs.items()})
    for place, pair in enumerate(catalogue.pairs):
        pair_id = pairs[pair.key]
        row = rows.setdefault(pair_id, CataloguePairRow(catalogue_id=catalogue_id, pair_id=pair_id, key=pair.key))
        row.note, row.place, row.neither_allowed, row.third_share = pair.note, place, pair.neither, pair.third_share
        row.extra, row.retired_at, row.said = to_json(pair.extra), None, words_out(pair.said)
        db.add(row)
    retire((row for pair_id, row in rows.items() if pair_id not in set(pairs.values())), at=at)
    db.flush()
    return {key: rows[pair_id] for key, pair_id in pairs.items()}


def _write_thirds(
    db: Session,
    catalogue: FolderCatalogue,
    pairs: Mapping[str, CataloguePairRow],
    held: Mapping[str, CatalogueFormRow],
    traits: Mapping[str, TraitRow],
) -> None:
    ids = [row.id for row in pairs.values()]
    rows = {
        (row.catalogue_pair_id, row.catalogue_form_id, row.trait_id): row
        for row in db.scalars(select(ThirdRow).where(ThirdRow.catalogue_pair_id.in_(ids)))
    }
    for pair in catalogue.pairs:
        for third in pair.thirds:
            place = (pairs[pair.key].id, held[third.form].id, traits[third.trait].id)
            if rows.pop(place, None) is None:
                db.add(ThirdRow(catalogue_pair_id=place[0], catalogue_form_id=place[1], trait_id=place[2]))
    for row in rows.values():
        db.delete(row)
    db.flush()
