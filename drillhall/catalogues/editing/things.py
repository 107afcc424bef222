"""Edits of a catalogue's forms, traits, pairs and sets: each returns the catalogue as it would be; nothing is stored here."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, TypeVar

from drillhall.catalogues.editing.value_words import HOW_OFTEN, THINGS
from drillhall.catalogues.folder import (
    FolderCatalogue,
    FolderForm,
    FolderPair,
    FolderSet,
    FolderStage,
    FolderState,
    FolderThird,
    FolderTrait,
    SaidChance,
)
from drillhall.catalogues.reading.concepts import concept_id
from drillhall.core.terms import CHANCE_WORDS
from drillhall.errors import Invalid, NotFound
from drillhall.words import joined, say

LONGEST_KEY: Final = 60
IDENTITY: Final = ("taxon_concept_id", "sex", "life_stage", "plumage", "variant")
"""What makes a form one form in the whole hall."""

Thing = TypeVar("Thing", FolderForm, FolderTrait, FolderPair, FolderSet)
Value = TypeVar("Value")
Cell = tuple[str, str, str]
"""Form, trait and state: how often the form shows the state."""


@dataclass(frozen=True, slots=True)
class SaidState:
    """One state as it was typed; an empty key is a new one."""

    key: str
    label: str
    also_called: tuple[str, ...] = ()
    colour: str = ""


def make_key(words: str, taken: Collection[str], *, sign: str = "_") -> str:
    """Return a key made of words, with a number behind it where it is taken already.

    >>> make_key("Tail-edge, Ö!", {"tail_edge_o"})
    'tail_edge_o_2'
    """
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode().casefold()
    key = sign.join("".join(letter if letter.isalnum() else " " for letter in plain).split())[:LONGEST_KEY].strip(sign) or "one"
    number, made = 1, key
    while made in taken:
        number += 1
        made = f"{key}{sign}{number}"
    return made


def the_thing(things: Sequence[Thing], key: str, what: str) -> Thing:
    """Return the thing of that key, or raise NotFound."""
    for thing in things:
        if thing.key == key:
            return thing
    raise NotFound(
        say("There is no such {what} in this catalogue. It may have been retired: its history tells.", what=THINGS.get(what, what))
    )


def add_form(said: FolderCatalogue, values: Mapping[str, Any], *, taken: Collection[str]) -> FolderCatalogue:
    """Add a form at the end; its key is made from its name and what it wears."""
    words = " ".join(str(values[name]) for name in ("vernacular_name", "sex", "life_stage", "plumage", "variant"))
    form = FolderForm(key=make_key(words, {*taken, *(one.key for one in said.forms)}), **_named(said, values))
    return replace(said, forms=(*said.forms, form))


def change_form(said: FolderCatalogue, key: str, values: Mapping[str, Any]) -> FolderCatalogue:
    """Change what a catalogue says of a form."""
    form = the_thing(said.forms, key, "form")
    return replace(said, forms=_with(said.forms, replace(form, **_named(said, values))))


def retire_form(said: FolderCatalogue, key: str) -> FolderCatalogue:
    """Take a form out, and with it its pairs and its places as a third."""
    the_thing(said.forms, key, "form")
    kept = tuple(
        replace(pair, thirds=tuple(third for third in pair.thirds if third.form != key)) for pair in said.pairs if key not in pair.forms
    )
    return _without_lost_pairs(replace(said, forms=_without(said.forms, key), pairs=kept))


def add_trait(said: FolderCatalogue, values: Mapping[str, Any], states: Sequence[SaidState], *, taken: Collection[str]) -> FolderCatalogue:
    """Add a trait at the end; its key is made from its words."""
    key = make_key(values["label"], {*taken, *(one.key for one in said.traits)})
    trait = FolderTrait(key=key, states=_states(states, (), is_measured=bool(values.get("unit"))), **values)
    return replace(said, traits=(*said.traits, trait))


def change_trait(said: FolderCatalogue, key: str, values: Mapping[str, Any], states: Sequence[SaidState]) -> FolderCatalogue:
    """Change a trait and its states; what was said of a state that goes, goes with it."""
    old = the_thing(said.traits, key, "trait")
    trait = replace(old, states=_states(states, old.states, is_measured=bool(values.get("unit"))), **values)
    kept = {state.key for state in trait.states}
    forms = tuple(replace(form, traits=_said(_only(form.traits, key, kept))) for form in said.forms)
    if not trait.unit and any(key in form.measures for form in forms):
        raise Invalid(say("Forms have been measured here. Write the unit, or empty their measures first."), field="unit")
    return replace(said, traits=_with(said.traits, trait), forms=forms)


def retire_trait(said: FolderCatalogue, key: str) -> FolderCatalogue:
    """Take a trait out, with what forms say of it and the thirds that share it."""
    the_thing(said.traits, key, "trait")
    forms = tuple(replace(form, traits=_all_but(form.traits, key), measures=_all_but(form.measures, key)) for form in said.forms)
    pairs = tuple(replace(pair, thirds=tuple(third for third in pair.thirds if third.trait != key)) for pair in said.pairs)
    return replace(said, traits=_without(said.traits, key), forms=forms, pairs=pairs)


def say_chances(said: FolderCatalogue, cells: Mapping[Cell, SaidChance | None]) -> FolderCatalogue:
    """Say how often forms show states; None says nothing of it."""
    changed = {form.key: {trait: dict(states) for trait, states in form.traits.items()} for form in said.forms}
    labels = {(trait.key, state.key): state.label for trait in said.traits for state in trait.states}
    for (form, trait, state), chance in cells.items():
        if form not in changed or (trait, state) not in labels:
            raise Invalid(say("A form or a state of this table was retired meanwhile. Open the page again."))
        if chance is not None:
            _refuse_odd(labels[trait, state], chance)
        beneath = changed[form].setdefault(trait, {})
        beneath.pop(state, None)
        if chance is not None:
            beneath[state] = chance
    return replace(said, forms=tuple(replace(form, traits=_said(changed[form.key])) for form in said.forms))


def add_pair(said: FolderCatalogue, first: str, second: str) -> FolderCatalogue:
    """Pair two forms that are mixed up; raises Invalid where they are one, unknown, or a pair already."""
    known = {form.key for form in said.forms}
    for field, key in (("first", first), ("second", second)):
        if key not in known:
            raise Invalid(say("Choose a form of this catalogue."), field=field)
    if first == second:
        raise Invalid(say("That pairs a form with itself. Choose two different forms."), field="second")
    if any({first, second} == set(pair.forms) for pair in said.pairs):
        raise Invalid(say("These two are a pair of this catalogue already. Choose two others."), field="second")
    return replace(said, pairs=(*said.pairs, FolderPair((first, second))))


def change_pair(
    said: FolderCatalogue, key: str, *, note: str, neither: bool, third_share: float, thirds: Sequence[FolderThird]
) -> FolderCatalogue:
    """Change what a catalogue says of a pair."""
    pair = the_thing(said.pairs, key, "pair")
    kept = tuple(sorted(dict.fromkeys(thirds)))
    return replace(said, pairs=_with(said.pairs, replace(pair, note=note, neither=neither, third_share=third_share, thirds=kept)))


def retire_pair(said: FolderCatalogue, key: str) -> FolderCatalogue:
    """Take a pair out, and out of the stages that hold it."""
    the_thing(said.pairs, key, "pair")
    return _without_lost_pairs(replace(said, pairs=_without(said.pairs, key)))


def write_set(
    said: FolderCatalogue, key: str, values: Mapping[str, Any], stages: Sequence[FolderStage], *, taken: Collection[str] = ()
) -> FolderCatalogue:
    """Change a pair set and its stages, or, without a key, add one at the end; what no page asks of a stage stays with its place."""
    if not stages:
        raise Invalid(say("A set needs at least one pair. Put one into a stage."), field="stages")
    old = the_thing(said.sets, key, "pair set") if key else None
    kept = old.stages if old else ()
    whole = tuple(replace(one, extra=kept[place].extra) if place < len(kept) else one for place, one in enumerate(stages))
    if old:
        return replace(said, sets=_with(said.sets, replace(old, stages=whole, **values)))
    made = make_key(str(values["title"]), {*taken, *(one.key for one in said.sets)}, sign="-")
    return replace(said, sets=(*said.sets, FolderSet(key=made, stages=whole, **values)))


def copy_set(said: FolderCatalogue, key: str, made: str) -> FolderCatalogue:
    """Add a copy of a pair set at the end, under the key that is made for it, to be changed by itself."""
    old = the_thing(said.sets, key, "pair set")
    return replace(said, sets=(*said.sets, replace(old, key=made, title=f"{old.title[:190]}, copy")))


def copy_key(said: FolderCatalogue, key: str, *, taken: Collection[str] = ()) -> str:
    """Return the key that a copy of a pair set gets."""
    return make_key(f"{key} copy", {*taken, *(one.key for one in said.sets)}, sign="-")


def retire_set(said: FolderCatalogue, key: str) -> FolderCatalogue:
    """Take a pair set out."""
    the_thing(said.sets, key, "pair set")
    return replace(said, sets=_without(said.sets, key))


def move(said: FolderCatalogue, part: str, key: str, *, earlier: bool) -> FolderCatalogue:
    """Move a thing one place up or down in the order of its part; at the end it stays."""
    things = list(getattr(said, part))
    place = next((number for number, thing in enumerate(things) if thing.key == key), None)
    if place is None:
        raise NotFound(say("There is no such thing in this catalogue."))
    other = max(0, place - 1) if earlier else min(len(things) - 1, place + 1)
    things[place], things[other] = things[other], things[place]
    changed: FolderCatalogue = replace(said, **{part: tuple(things)})  # type: ignore[arg-type]  # the part's own things, in another order
    return changed


def change_head(said: FolderCatalogue, values: Mapping[str, Any]) -> FolderCatalogue:
    """Change what a catalogue says of itself."""
    return replace(said, **values)


def _named(said: FolderCatalogue, values: Mapping[str, Any]) -> dict[str, Any]:
    concept = values["taxon_concept_id"] or concept_id(said.list_name, str(values["scientific_name"]))
    return {**values, "taxon_concept_id": concept}


def _states(typed: Sequence[SaidState], old: Sequence[FolderState], *, is_measured: bool) -> tuple[FolderState, ...]:
    known = {state.key: state for state in old}
    made: dict[str, FolderState] = {}
    for one in typed:
        if not one.label:
            raise Invalid(say("A state without a word. Write it, or take the state out."), field="states")
        key = one.key if one.key in known else make_key(one.label, {*known, *made})
        if key in made:
            raise Invalid(say("Two states have one key. Open the page again."), field="states")
        state = known.get(key, FolderState(key, one.label))
        made[key] = replace(state, label=one.label, also_called=one.also_called, colour=one.colour)
    labels = [state.label.casefold() for state in made.values()]
    if len(set(labels)) < len(labels):
        raise Invalid(say("Two states have the same word. Call one of them otherwise."), field="states")
    if len(made) < 2 and not (is_measured and not made):
        raise Invalid(say("A trait needs at least two states, else it tells nothing. Write a second one."), field="states")
    return tuple(made.values())


def _refuse_odd(label: str, chance: SaidChance) -> None:
    if chance.shown is None and chance.word not in CHANCE_WORDS:
        words = joined(", ", HOW_OFTEN.values())
        raise Invalid(
            say(
                "“{word}” for “{label}” is no word for how often. Write one of {words}, or a count: 18 of 20.",
                word=chance.word,
                label=label,
                words=words,
            ),
            field="chances",
        )
    too_many = chance.shown is not None and not 0 <= chance.shown <= (chance.of or 0)
    if too_many or (chance.of is not None and not 0 < chance.of < 10**6):
        raise Invalid(
            say(
                "{shown} of {of} for “{label}” is no count of specimens. Write it like 18 of 20.",
                shown=chance.shown,
                of=chance.of,
                label=label,
            ),
            field="chances",
        )


def _only(traits: Mapping[str, Mapping[str, SaidChance]], key: str, kept: Collection[str]) -> dict[str, Mapping[str, SaidChance]]:
    """Return what is said of traits, of one of them only for the states that are kept."""
    return {trait: {state: one for state, one in states.items() if trait != key or state in kept} for trait, states in traits.items()}


def _said(traits: Mapping[str, Mapping[str, SaidChance]]) -> dict[str, Mapping[str, SaidChance]]:
    return {trait: states for trait, states in traits.items() if states}


def _all_but(said: Mapping[str, Value], key: str) -> dict[str, Value]:
    return {trait: one for trait, one in said.items() if trait != key}


def _with(things: Sequence[Thing], changed: Thing) -> tuple[Thing, ...]:
    return tuple(changed if thing.key == changed.key else thing for thing in things)


def _without(things: Sequence[Thing], key: str) -> tuple[Thing, ...]:
    return tuple(thing for thing in things if thing.key != key)


def _without_lost_pairs(said: FolderCatalogue) -> FolderCatalogue:
    """Take pairs that are no longer there out of the stages; a stage without pairs goes, and a set without stages."""
    known = {pair.forms for pair in said.pairs}
    sets = []
    for one in said.sets:
        stages = (replace(stage, pairs=tuple(forms for forms in stage.pairs if forms in known)) for stage in one.stages)
        sets.append(replace(one, stages=tuple(stage for stage in stages if stage.pairs)))
    return replace(said, sets=tuple(one for one in sets if one.stages))
