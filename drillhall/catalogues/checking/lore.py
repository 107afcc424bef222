"""Checks what a catalogue says of itself, its traits, forms, pairs and pair sets."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

from drillhall.catalogues.folder import (
    CATALOGUE_FILE,
    SETS_FILE,
    Fault,
    FolderCatalogue,
    FolderForm,
    FolderPair,
    FolderStage,
    FolderTrait,
    SaidChance,
)
from drillhall.core.terms import CHANCE_WORDS, DISTANCES, LIFE_STAGES, SEXES, SUBJECTS, TAXON_RANKS
from drillhall.core.traits import chance_of_count, chance_of_word, fill_chances
from drillhall.core.values import TraitKind
from drillhall.errors import Invalid

KEY: Final = re.compile(r"[a-z0-9][a-z0-9_-]*")
KEY_MEND: Final = "Write it with the letters a to z, digits, - and _ alone, and begin with a letter or digit."
LANGUAGE: Final = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
COLOUR: Final = re.compile(r"#[0-9a-fA-F]{6}")
MOST_THIRDS: Final = 0.10
LONGEST_MM: Final = 100_000
LONGEST_POSE: Final = 40

InStage = tuple[tuple[str, str], frozenset[str], frozenset[str]]
"""A pair in a stage, with the poses and distances that the stage holds."""


def faults_of_head(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check the table [catalogue]."""
    where = f"{CATALOGUE_FILE}, [catalogue]"
    if catalogue.key and not re.fullmatch(r"[a-z0-9][a-z0-9-]*", catalogue.key):
        yield Fault(where, f"The key {catalogue.key} cannot stand in an address.", "Write it with a to z, digits and - alone.")
    if catalogue.subject and catalogue.subject not in SUBJECTS:
        yield Fault(where, f"The subject {catalogue.subject} is unknown.", f"Choose one of {', '.join(SUBJECTS)}.")
    if not LANGUAGE.fullmatch(catalogue.language):
        yield Fault(where, f"The language {catalogue.language} is no language tag.", "Write it like en or pt-BR.")


def faults_of_traits(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check traits and their states."""
    yield from _repeated(CATALOGUE_FILE, "trait", [trait.key for trait in catalogue.traits])
    for trait in catalogue.traits:
        where = _file(f"trait {trait.key}")
        yield from _bad_key(where, trait.key)
        if trait.kind and trait.kind not in set(TraitKind):
            yield Fault(where, f"The kind {trait.kind} is unknown.", f"Choose one of {', '.join(TraitKind)}.")
        if len(trait.states) < 2:
            yield Fault(where, "It has fewer than two states, so it tells nothing.", "Write at least two states, or take the trait out.")
        yield from _repeated(where, "state", [state.key for state in trait.states])
        for state in trait.states:
            yield from _bad_key(f"{where}, state {state.key}", state.key)
            if state.colour and not COLOUR.fullmatch(state.colour):
                yield Fault(f"{where}, state {state.key}", f"The colour {state.colour} is none.", "Write it like #8a7c6d.")


def faults_of_forms(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check forms and the chances of their traits."""
    yield from _repeated(CATALOGUE_FILE, "form", [form.key for form in catalogue.forms])
    traits = {trait.key: trait for trait in catalogue.traits}
    seen: dict[tuple[str, ...], str] = {}
    ranks: dict[str, str] = {}
    for form in catalogue.forms:
        where = _file(f"form {form.key}")
        yield from _bad_key(where, form.key)
        yield from _bad_words(where, form)
        twin = seen.setdefault(form.identity, form.key)
        if twin != form.key:
            mend = "Give one of them another sex, lifeStage, plumage or variant, or join the two."
            yield Fault(where, f"It is the same form as {twin}: same concept, sex, life stage, plumage and variant.", mend)
        if ranks.setdefault(form.scientific_name, form.taxon_rank) != form.taxon_rank:
            yield Fault(where, f"{form.scientific_name} has another taxonRank elsewhere in the file.", "Give one name one rank.")
        if form.length_mm is not None and not 1 <= form.length_mm <= LONGEST_MM:
            yield Fault(where, f"length_mm is {form.length_mm}.", f"Write its real length in millimetres, 1 to {LONGEST_MM}.")
        for trait_key, said in form.traits.items():
            if trait_key in traits:
                yield from _bad_chances(f"{where}, trait {trait_key}", traits[trait_key], dict(said))
            else:
                yield Fault(where, f"There is no trait {trait_key}.", "Name one of [[traits]], or add it there.")


def faults_of_pairs(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check pairs and their thirds."""
    forms = {form.key: form for form in catalogue.forms}
    traits = {trait.key for trait in catalogue.traits}
    yield from _repeated(CATALOGUE_FILE, "pair", [" and ".join(sorted(pair.forms)) for pair in catalogue.pairs if all(pair.forms)])
    for pair in catalogue.pairs:
        if not all(pair.forms):
            continue  # told at reading
        where = _file(f"pair {' and '.join(pair.forms)}")
        for key in sorted(set(pair.forms) - forms.keys()):
            yield Fault(where, f"There is no form {key}.", "Name one of [[forms]], or add it there.")
        yield from _bad_pair(where, pair)
        for third in pair.thirds:
            if third.form and third.form not in forms:
                yield Fault(where, f"There is no form {third.form} to stand as a third.", "Name one of [[forms]], or add it there.")
            elif third.form in pair.forms:
                yield Fault(where, f"The third {third.form} is one of the pair itself.", "Name another form, or take the third out.")
            if third.trait and third.trait not in traits:
                yield Fault(where, f"There is no trait {third.trait} that a third could share.", "Name one of [[traits]], or add it there.")
        yield from _repeated(where, "third", [f"{third.form} by {third.trait}" for third in pair.thirds])


def faults_of_sets(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check pair sets and their stages."""
    pairs = {pair.forms for pair in catalogue.pairs}
    yield from _repeated(SETS_FILE, "set", [one.key for one in catalogue.sets])
    for one in catalogue.sets:
        where = f"{SETS_FILE}, set {one.key}"
        yield from _bad_key(where, one.key)
        if not one.stages:
            yield Fault(where, "It has no stage.", "Write at least one [[sets.stages]] with pairs.")
        for stage in one.stages:
            yield from _bad_stage(f"{where}, stage {stage.title}", stage, pairs)
        in_stages = [
            (pair, frozenset(stage.poses), frozenset(stage.distances)) for stage in one.stages for pair in dict.fromkeys(stage.pairs)
        ]
        mend = "Leave it in the stage where it belongs, or let its stages hold pictures of different poses or distances."
        yield from _repeated(where, "pair", [" and ".join(pair) for pair, *_ in _twice_alike(in_stages)], mend=mend)


def _twice_alike(in_stages: Iterable[InStage]) -> Iterator[InStage]:
    """Yield what stands in stages that hold the same pictures."""
    for found, times in Counter(in_stages).items():
        yield from [found] * (times if times > 1 else 0)


def _bad_stage(where: str, stage: FolderStage, pairs: set[tuple[str, str]]) -> Iterator[Fault]:
    for distance in stage.distances:
        if distance not in DISTANCES:
            yield Fault(where, f"The distance {distance} is unknown.", f"Choose one of {', '.join(DISTANCES)}.")
    for pose in stage.poses:
        if not pose or len(pose) > LONGEST_POSE:
            yield Fault(where, "It names a pose that no picture can have.", f"Write each with {LONGEST_POSE} letters at most.")
    if not stage.pairs:
        yield Fault(where, "It has no pairs.", 'Write pairs = [["one_form", "other_form"]].')
    for forms in dict.fromkeys(stage.pairs):
        if forms not in pairs:
            yield Fault(where, f"There is no pair of {' and '.join(forms)}.", "Add it as one of [[pairs]], or take it out.")
    yield from _repeated(where, "pair", [" and ".join(pair) for pair in stage.pairs], mend="Name it once.")


def _bad_pair(where: str, pair: FolderPair) -> Iterator[Fault]:
    first, second = pair.forms
    if first == second:
        yield Fault(where, "It pairs a form with itself.", "Name two different forms.")
    if not 0 <= pair.third_share <= MOST_THIRDS:
        yield Fault(where, f"third_share is {pair.third_share:g}.", f"Write a share from 0 to {MOST_THIRDS:g}.")


def _bad_words(where: str, form: FolderForm) -> Iterator[Fault]:
    for name, said, known in (
        ("sex", form.sex, SEXES),
        ("lifeStage", form.life_stage, LIFE_STAGES),
        ("taxonRank", form.taxon_rank, TAXON_RANKS),
    ):
        if said and said not in known:
            hint = " Plumage and moult go under plumage." if name == "lifeStage" else ""
            yield Fault(where, f"{name} says {said}.", f"Choose one of {', '.join(known)}.{hint}")


def _bad_chances(where: str, trait: FolderTrait, said: dict[str, SaidChance]) -> Iterator[Fault]:
    states = [state.key for state in trait.states]
    chances: dict[str, float] = {}
    is_sound = True
    for state, chance in said.items():
        if state not in states:
            yield Fault(where, f"There is no state {state}.", f"Its states are {', '.join(states)}.")
            is_sound = False
            continue
        try:
            counted = chance.shown is not None and chance.of is not None
            chances[state] = chance_of_count(chance.shown or 0, chance.of or 0) if counted else chance_of_word(chance.word)
        except Invalid:
            yield Fault(where, _odd_chance(state, chance), f"Write one of {', '.join(CHANCE_WORDS)}, or {{ shown = 18, of = 20 }}.")
            is_sound = False
    if is_sound and len(states) == len(set(states)):
        try:
            fill_chances(chances, states)
        except Invalid as error:
            yield Fault(where, error.sentence, "Say it anew so that it comes to about 1.")


def _odd_chance(state: str, chance: SaidChance) -> str:
    if chance.shown is None:
        return f"How often {state} is shown is said by the unknown word “{chance.word}”."
    return f"{state} says {chance.shown} of {chance.of}, which is no count of specimens."


def _bad_key(where: str, key: str) -> Iterator[Fault]:
    if key and not KEY.fullmatch(key):
        yield Fault(where, f"{key} is no key.", KEY_MEND)


def _repeated(where: str, what: str, keys: Iterable[str], *, mend: str = "Write it once, or give one another key.") -> Iterator[Fault]:
    for key, times in Counter(keys).items():
        if key and times > 1:
            yield Fault(f"{where}, {what} {key}", f"It is there {'twice' if times == 2 else f'{times} times'}.", mend)


def _file(name: str) -> str:
    return f"{CATALOGUE_FILE}, {name}"
