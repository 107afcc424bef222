"""Reads what a catalogue says of pairs into plain values: forms with their names, traits with chances, thirds, portraits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from sqlalchemy import literal, or_, select
from sqlalchemy.orm import Session

from drillhall.core.sight import hard_to_see
from drillhall.core.tongues import note_in, told_in, words_in
from drillhall.core.traits import chance_of_count, chance_of_word, fill_chances
from drillhall.core.values import Form, FormMeasures, FormTraits, Measured, Pair, PairLore, State, Third, Trait, TraitKind
from drillhall.practice.naming import under_list
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CatalogueRow,
    FormMeasureRow,
    FormTraitRow,
    StateRow,
    ThirdRow,
    TraitRow,
)
from drillhall.store.models.concepts import FormRow, NameRow, PairRow, VernacularRow
from drillhall.words import speaking

Called = tuple[str, str]
"""A language (BCP 47) and a common name in it."""


def the_forms(db: Session, catalogue: CatalogueRow, form_ids: Iterable[int]) -> dict[int, Form]:
    """Return forms by id, named in the language that is spoken (the reader's), else as the catalogue does, else as the hall does.

    In the reader's language is what the catalogue says there, else what any other has told the hall. A name that forms of two
    concepts would bear there is left to the catalogue: a question is about the form and not about the name.
    """
    wanted = sorted(set(form_ids))
    rows = db.scalars(select(FormRow).where(FormRow.id.in_(wanted))).all()
    concepts = {row.concept_id for row in rows}
    latin: dict[int, str] = {}
    for name in db.scalars(select(NameRow).where(NameRow.concept_id.in_(concepts)).order_by(NameRow.id.desc())):
        if name.concept_id not in latin or name.according_to == catalogue.list_name:
            latin[name.concept_id] = name.scientific_name
    common: dict[int, list[Called]] = defaultdict(list)
    for word in db.scalars(select(VernacularRow).where(VernacularRow.concept_id.in_(concepts)).order_by(VernacularRow.id)):
        common[word.concept_id].append((word.language, word.name))
    chosen = _chosen_names(db, catalogue.id, wanted)
    spoken = _in_spoken_language(catalogue, rows, chosen, common)
    forms = {}
    for row in rows:
        own = chosen.get(row.id)
        scientific = own.scientific if own else latin.get(row.concept_id, "")
        usual = own.called if own else _next_in(common[row.concept_id], catalogue.language) or next(iter(common[row.concept_id]), None)
        language, vernacular = spoken.get(row.id) or usual or ("la", scientific)
        forms[row.id] = Form(
            id=row.id,
            name=vernacular,
            scientific_name=scientific,
            sex=row.sex,
            life_stage=row.life_stage,
            plumage=row.plumage,
            variant=row.variant,
            language=language,
        )
    return forms


@dataclass(frozen=True, slots=True)
class _Chosen:
    """What a catalogue calls a form: scientific name, common name in its own language, and common names in others."""

    scientific: str
    called: Called
    elsewhere: tuple[Called, ...]


def _chosen_names(db: Session, catalogue_id: int, form_ids: Sequence[int]) -> dict[int, _Chosen]:
    """Return the names that the catalogue has chosen, of each form for which it has chosen."""
    query = (
        select(CatalogueFormRow.form_id, NameRow.scientific_name, VernacularRow.language, VernacularRow.name, CatalogueFormRow.called)
        .join(NameRow, NameRow.id == CatalogueFormRow.name_id)
        .join(VernacularRow, VernacularRow.id == CatalogueFormRow.vernacular_id)
        .where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.form_id.in_(form_ids))
    )
    return {
        form_id: _Chosen(scientific, (language, name), tuple((one["language"], one["vernacularName"]) for one in called))
        for form_id, scientific, language, name, called in db.execute(query)
    }


def _in_spoken_language(
    catalogue: CatalogueRow, rows: Sequence[FormRow], chosen: Mapping[int, _Chosen], common: Mapping[int, Sequence[Called]]
) -> dict[int, Called]:
    """Return names in the language that is spoken, by form; none where it is the catalogue's own, and none that two concepts share."""
    language = speaking()
    if catalogue.language.partition("-")[0].lower() == language:
        return {}
    found: dict[int, Called] = {}
    for row in rows:
        own = chosen[row.id].elsewhere if row.id in chosen else ()
        if name := _next_in(own, language) or _next_in(common.get(row.concept_id, ()), language):
            found[row.id] = name
    bearers: dict[str, set[int]] = defaultdict(set)
    for row in (row for row in rows if row.id in found):
        bearers[found[row.id][1].casefold()].add(row.concept_id)
    return {form_id: name for form_id, name in found.items() if len(bearers[name[1].casefold()]) == 1}


def _next_in(names: Iterable[Called], language: str) -> Called | None:
    """Return the first name in a language, one of exactly its tag before one of a region of it; None where there is none."""
    fitting = [one for one in names if one[0] == language or one[0].lower().startswith(f"{language.lower()}-")]
    return next((one for one in fitting if one[0] == language), next(iter(fitting), None))


@dataclass(frozen=True, slots=True)
class FormsLore:
    """What a catalogue says of some forms: traits in its order, chances and measures by form, and its word for how common each is."""

    forms: Mapping[int, Form]
    traits: tuple[Trait, ...]
    chances: Mapping[int, FormTraits]
    commonness: Mapping[int, str]
    measures: Mapping[int, FormMeasures] = field(default_factory=dict)


def lore_of_forms(db: Session, catalogue_id: int, form_ids: Iterable[int], *, reader: Reader = ANYBODY) -> FormsLore:
    """Return what a catalogue says of some of its forms; one of which it says nothing has no chances, and no word."""
    catalogue = db.get_one(CatalogueRow, catalogue_id)
    wanted = sorted(set(form_ids))
    traits, keys = _traits(db, catalogue, with_retired=False)
    words = select(CatalogueFormRow.form_id, CatalogueFormRow.commonness).where(
        CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.form_id.in_(wanted), CatalogueFormRow.commonness != ""
    )
    return FormsLore(
        forms=under_list(db, catalogue, the_forms(db, catalogue, wanted), reader.list_name),
        traits=traits,
        chances=_chances(db, catalogue_id, wanted, traits, keys),
        commonness={row.form_id: row.commonness for row in db.execute(words)},
        measures=_measures(db, catalogue_id, wanted, traits),
    )


def lore_of_pairs(
    db: Session, catalogue_id: int, pair_ids: Iterable[int], *, as_shown: Iterable[int] | None = None, reader: Reader = ANYBODY
) -> dict[int, PairLore]:
    """Return what the catalogue says of some of its pairs, by pair id; a pair it does not hold is left out.

    For what was shown already, `as_shown` names the forms that were: they count among `third_forms`, and retired traits are told.
    `reader` is whom it is told to: forms bear the names of her list, and traits that she cannot see are marked.
    """
    shown = set(as_shown or ())
    catalogue = db.get_one(CatalogueRow, catalogue_id)
    said = db.execute(
        select(CataloguePairRow, PairRow)
        .join(PairRow, PairRow.id == CataloguePairRow.pair_id)
        .where(CataloguePairRow.catalogue_id == catalogue_id, PairRow.id.in_(list(pair_ids)))
    ).all()
    thirds = _thirds(db, [row.id for row, _ in said])
    form_ids = {form_id for _, pair in said for form_id in (pair.first_form_id, pair.second_form_id)}
    form_ids |= {third.form_id for shared in thirds.values() for third in shared} | shown
    forms = under_list(db, catalogue, the_forms(db, catalogue, form_ids), reader.list_name)
    traits, keys = _traits(db, catalogue, with_retired=as_shown is not None)
    chances = _chances(db, catalogue_id, form_ids, traits, keys)
    measures = _measures(db, catalogue_id, form_ids, traits)
    notes = {row.id: note_in(row.note, words_in(row.said), catalogue.language, speaking()) for row, _ in said}
    lores = {
        pair.id: PairLore(
            pair=Pair(id=pair.id, first=forms[pair.first_form_id], second=forms[pair.second_form_id]),
            traits=traits,
            chances=chances,
            measures=measures,
            thirds=tuple(thirds.get(row.id, ())),
            note=notes[row.id][0],
            note_language=notes[row.id][1],
            third_forms=tuple(forms[third_id] for third_id in sorted(shown | {third.form_id for third in thirds.get(row.id, ())})),
        )
        for row, pair in said
    }
    return {pair_id: replace(lore, hard_to_see=hard_to_see(lore, reader.sight)) for pair_id, lore in lores.items()}


def has_retired_traits(db: Session, catalogue_id: int) -> bool:
    """Whether a catalogue has a trait, or a state of one, that is retired: then what was shown is told otherwise than what will be."""
    retired = or_(TraitRow.retired_at.is_not(None), StateRow.retired_at.is_not(None))
    query = select(TraitRow.id).outerjoin(StateRow, StateRow.trait_id == TraitRow.id).where(TraitRow.catalogue_id == catalogue_id, retired)
    return db.execute(query.limit(1)).first() is not None


def _thirds(db: Session, catalogue_pair_ids: Sequence[int]) -> dict[int, list[Third]]:
    query = (
        select(ThirdRow.catalogue_pair_id, CatalogueFormRow.form_id, TraitRow.key)
        .join(CatalogueFormRow, CatalogueFormRow.id == ThirdRow.catalogue_form_id)
        .join(TraitRow, TraitRow.id == ThirdRow.trait_id)
        .where(ThirdRow.catalogue_pair_id.in_(catalogue_pair_ids), TraitRow.retired_at.is_(None))
        .order_by(CatalogueFormRow.form_id, TraitRow.place)
    )
    found: dict[int, list[Third]] = defaultdict(list)
    for catalogue_pair_id, form_id, trait in db.execute(query):
        found[catalogue_pair_id].append(Third(form_id=form_id, trait=trait))
    return found


def _traits(db: Session, catalogue: CatalogueRow, *, with_retired: bool) -> tuple[tuple[Trait, ...], dict[int, tuple[str, str]]]:
    """Return the catalogue's traits in order, in the language that is spoken, and (trait key, state key) by the state's id."""
    in_use = select(TraitRow).where(TraitRow.catalogue_id == catalogue.id, or_(literal(with_retired), TraitRow.retired_at.is_(None)))
    rows = db.scalars(in_use.order_by(TraitRow.place, TraitRow.id)).all()
    by_trait: dict[int, list[StateRow]] = defaultdict(list)
    held = select(StateRow).where(
        StateRow.trait_id.in_([row.id for row in rows]), or_(literal(with_retired), StateRow.retired_at.is_(None))
    )
    for state in db.scalars(held.order_by(StateRow.place, StateRow.id)):
        by_trait[state.trait_id].append(state)
    traits = tuple(told_in(_as_said(row, by_trait[row.id], catalogue), speaking()) for row in rows)
    return traits, {state.id: (row.key, state.key) for row in rows for state in by_trait[row.id]}


def _as_said(row: TraitRow, states: Iterable[StateRow], catalogue: CatalogueRow) -> Trait:
    """Return a trait in its catalogue's own language, with what is said of it in others."""
    own = catalogue.language
    return Trait(
        key=row.key,
        label=row.label,
        part=row.part,
        kind=TraitKind(row.kind),
        states=tuple(State(s.key, s.label, tuple(s.also_called), s.colour, own, words_in(s.said)) for s in states),
        ask=row.ask,
        subject=catalogue.subject,
        unit=row.unit,
        language=own,
        said=words_in(row.said),
    )


def _chances(
    db: Session, catalogue_id: int, form_ids: Iterable[int], traits: Sequence[Trait], keys: Mapping[int, tuple[str, str]]
) -> dict[int, FormTraits]:
    query = (
        select(CatalogueFormRow.form_id, FormTraitRow.state_id, FormTraitRow.word, FormTraitRow.shown, FormTraitRow.of)
        .join(FormTraitRow, FormTraitRow.catalogue_form_id == CatalogueFormRow.id)
        .where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.form_id.in_(list(form_ids)))
    )
    said: dict[int, dict[str, dict[str, float]]] = defaultdict(lambda: defaultdict(dict))
    for form_id, state_id, word, shown, of in db.execute(query):
        if state_id in keys:
            trait, state = keys[state_id]
            said[form_id][trait][state] = chance_of_word(word) if word else chance_of_count(shown or 0, of or 0)
    by_key = {trait.key: trait for trait in traits}
    return {
        form_id: {trait: fill_chances(states, [state.key for state in by_key[trait].states]) for trait, states in spoken.items()}
        for form_id, spoken in said.items()
    }


def _measures(db: Session, catalogue_id: int, form_ids: Iterable[int], traits: Sequence[Trait]) -> dict[int, FormMeasures]:
    """Return what forms measure by the traits told; asks the database only where one of these has a unit."""
    keys = [trait.key for trait in traits if trait.unit]
    if not keys:
        return {}
    query = (
        select(CatalogueFormRow.form_id, TraitRow.key, FormMeasureRow)
        .join(FormMeasureRow, FormMeasureRow.catalogue_form_id == CatalogueFormRow.id)
        .join(TraitRow, TraitRow.id == FormMeasureRow.trait_id)
        .where(CatalogueFormRow.catalogue_id == catalogue_id, CatalogueFormRow.form_id.in_(list(form_ids)), TraitRow.key.in_(keys))
    )
    said: dict[int, dict[str, Measured]] = defaultdict(dict)
    for form_id, trait, row in db.execute(query):
        said[form_id][trait] = Measured(row.mean, row.spread, row.n)
    return dict(said)
