"""Works out what decides and what misleads from what a catalogue says, stored or not."""

from __future__ import annotations

from collections.abc import Mapping

from drillhall.catalogues.folder import FolderCatalogue, FolderForm, FolderPair, SaidChance
from drillhall.core.traits import chance_of_count, chance_of_word, fill_chances
from drillhall.core.values import Chances, Form, Pair, PairLore, State, Third, Trait, TraitKind
from drillhall.errors import Invalid
from drillhall.words import say


def lore_of(said: FolderCatalogue, pair: FolderPair, ids: Mapping[str, int]) -> PairLore:
    """Return what a catalogue says of a pair; `ids` are the hall's forms by key, whose order puts the first form on the left.

    Raises Invalid naming form and trait where chances cannot be meant as they are written.
    """
    forms = {form.key: form for form in said.forms}
    first, second = sorted(pair.forms, key=lambda key: ids[key])
    named = {key: form_of(said, forms[key], ids[key]) for key in {first, second, *(third.form for third in pair.thirds)}}
    return PairLore(
        pair=Pair(id=0, first=named[first], second=named[second]),
        traits=tuple(
            Trait(
                key=trait.key,
                label=trait.label,
                part=trait.part,
                kind=TraitKind(trait.kind),
                states=tuple(State(state.key, state.label, state.also_called, state.colour) for state in trait.states),
                ask=trait.ask,
                subject=said.subject,
                unit=trait.unit,
            )
            for trait in said.traits
        ),
        chances={form.id: _chances(said, forms[key]) for key, form in named.items()},
        measures={form.id: forms[key].measures for key, form in named.items()},
        thirds=tuple(Third(ids[third.form], third.trait) for third in pair.thirds),
        note=pair.note,
        third_forms=tuple(named[key] for key in dict.fromkeys(third.form for third in pair.thirds)),
    )


def form_of(said: FolderCatalogue, form: FolderForm, form_id: int) -> Form:
    """Return a form as pages name it."""
    return Form(
        id=form_id,
        name=form.vernacular_name,
        scientific_name=form.scientific_name,
        sex=form.sex,
        life_stage=form.life_stage,
        plumage=form.plumage,
        variant=form.variant,
        language=said.language,
    )


def _chances(said: FolderCatalogue, form: FolderForm) -> dict[str, Chances]:
    found: dict[str, Chances] = {}
    for trait in said.traits:
        if form.traits.get(trait.key):
            try:
                spoken = {state: _chance(one) for state, one in form.traits[trait.key].items()}
                found[trait.key] = fill_chances(spoken, [state.key for state in trait.states])
            except Invalid as wrong:
                raise Invalid(
                    say(
                        "{form}, {trait}: {sentence}",
                        form=form.vernacular_name,
                        trait=trait.label,
                        sentence=wrong.sentence,
                    ),
                    field="chances",
                ) from wrong
    return found


def _chance(said: SaidChance) -> float:
    return chance_of_word(said.word) if said.shown is None else chance_of_count(said.shown, said.of or 0)
