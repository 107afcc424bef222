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
from drillhall.catalogues.places import within_file
from drillhall.core.measures import check_measured
from drillhall.core.terms import CHANCE_WORDS, DISTANCES, LIFE_STAGES, SEXES, SUBJECTS, TAXON_RANKS
from drillhall.core.traits import chance_of_count, chance_of_word, fill_chances
from drillhall.core.values import Measured, TraitKind
from drillhall.errors import Invalid
from drillhall.words import Said, joined, listed, say

KEY: Final = re.compile(r"[a-z0-9][a-z0-9_-]*")
KEY_MEND: Final = say("Write it with the letters a to z, digits, - and _ alone, and begin with a letter or digit.")
LANGUAGE: Final = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
COLOUR: Final = re.compile(r"#[0-9a-fA-F]{6}")
MOST_THIRDS: Final = 0.10
LONGEST_MM: Final = 100_000
LONGEST_POSE: Final = 40

ONCE: Final = say("Write it once, or give one another key.")
TRAIT: Final = say("trait")
STATE: Final = say("state")
FORM: Final = say("form", ctx="of a catalogue")
PAIR: Final = say("pair")
THIRD: Final = say("third", ctx="of a pair")
SET: Final = say("set", ctx="of pairs")
STAGE: Final = say("stage")

InStage = tuple[tuple[str, str], frozenset[str], frozenset[str]]
"""A pair in a stage, with the poses and distances that the stage holds."""


def named(what: Said, key: str) -> Said:
    """Return how a thing of a catalogue is named in a fault: what it is, and its key."""
    return joined(" ", (what, key))


def faults_of_head(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check the table [catalogue]."""
    where = within_file(CATALOGUE_FILE, "[catalogue]")
    if catalogue.key and not re.fullmatch(r"[a-z0-9][a-z0-9-]*", catalogue.key):
        yield Fault(
            where, say("The key {key} cannot stand in an address.", key=catalogue.key), say("Write it with a to z, digits and - alone.")
        )
    if catalogue.subject and catalogue.subject not in SUBJECTS:
        yield Fault(
            where,
            say("The subject {subject} is unknown.", subject=catalogue.subject),
            say("Choose one of {choices}.", choices=", ".join(SUBJECTS)),
        )
    if not LANGUAGE.fullmatch(catalogue.language):
        yield Fault(
            where, say("The language {language} is no language tag.", language=catalogue.language), say("Write it like en or pt-BR.")
        )


def faults_of_traits(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check traits and their states."""
    yield from _repeated(CATALOGUE_FILE, TRAIT, [trait.key for trait in catalogue.traits])
    for trait in catalogue.traits:
        where = within_file(CATALOGUE_FILE, named(TRAIT, trait.key))
        yield from _bad_key(where, trait.key)
        if trait.kind and trait.kind not in set(TraitKind):
            yield Fault(
                where, say("The kind {kind} is unknown.", kind=trait.kind), say("Choose one of {choices}.", choices=", ".join(TraitKind))
            )
        if len(trait.states) < 2 and not (trait.unit and not trait.states):
            yield Fault(
                where, say("It has fewer than two states, so it tells nothing."), say("Write at least two states, or take the trait out.")
            )
        yield from _repeated(where, STATE, [state.key for state in trait.states])
        for state in trait.states:
            within = joined(", ", (where, named(STATE, state.key)))
            yield from _bad_key(within, state.key)
            if state.colour and not COLOUR.fullmatch(state.colour):
                yield Fault(within, say("The colour {colour} is none.", colour=state.colour), say("Write it like #8a7c6d."))


def faults_of_forms(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check forms and the chances of their traits."""
    yield from _repeated(CATALOGUE_FILE, FORM, [form.key for form in catalogue.forms])
    traits = {trait.key: trait for trait in catalogue.traits}
    seen: dict[tuple[str, ...], str] = {}
    ranks: dict[str, str] = {}
    for form in catalogue.forms:
        where = within_file(CATALOGUE_FILE, named(FORM, form.key))
        yield from _bad_key(where, form.key)
        yield from _bad_words(where, form)
        twin = seen.setdefault(form.identity, form.key)
        if twin != form.key:
            mend = say("Give one of them another sex, lifeStage, plumage or variant, or join the two.")
            yield Fault(where, say("It is the same form as {twin}: same concept, sex, life stage, plumage and variant.", twin=twin), mend)
        if ranks.setdefault(form.scientific_name, form.taxon_rank) != form.taxon_rank:
            yield Fault(
                where, say("{name} has another taxonRank elsewhere in the file.", name=form.scientific_name), say("Give one name one rank.")
            )
        if form.length_mm is not None and not 1 <= form.length_mm <= LONGEST_MM:
            yield Fault(
                where,
                say("length_mm is {said}.", said=form.length_mm),
                say("Write its real length in millimetres, 1 to {most}.", most=LONGEST_MM),
            )
        for trait_key, said in form.traits.items():
            if trait_key in traits:
                yield from _bad_chances(joined(", ", (where, named(TRAIT, trait_key))), traits[trait_key], dict(said))
            else:
                yield Fault(where, say("There is no trait {trait}.", trait=trait_key), say("Name one of [[traits]], or add it there."))
        for trait_key, measured in form.measures.items():
            yield from _bad_measure(joined(", ", (where, named(TRAIT, trait_key))), traits.get(trait_key), measured)


def faults_of_pairs(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check pairs and their thirds."""
    forms = {form.key: form for form in catalogue.forms}
    traits = {trait.key for trait in catalogue.traits}
    stateless = {trait.key for trait in catalogue.traits if trait.unit and not trait.states}
    yield from _repeated(CATALOGUE_FILE, PAIR, [listed(sorted(pair.forms)) for pair in catalogue.pairs if all(pair.forms)])
    for pair in catalogue.pairs:
        if not all(pair.forms):
            continue  # told at reading
        where = within_file(CATALOGUE_FILE, named(PAIR, listed(pair.forms)))
        for key in sorted(set(pair.forms) - forms.keys()):
            yield Fault(where, say("There is no form {form}.", form=key), say("Name one of [[forms]], or add it there."))
        yield from _bad_pair(where, pair)
        for third in pair.thirds:
            if third.form and third.form not in forms:
                yield Fault(
                    where,
                    say("There is no form {form} to stand as a third.", form=third.form),
                    say("Name one of [[forms]], or add it there."),
                )
            elif third.form in pair.forms:
                yield Fault(
                    where,
                    say("The third {form} is one of the pair itself.", form=third.form),
                    say("Name another form, or take the third out."),
                )
            if third.trait and third.trait not in traits:
                yield Fault(
                    where,
                    say("There is no trait {trait} that a third could share.", trait=third.trait),
                    say("Name one of [[traits]], or add it there."),
                )
            elif third.trait in stateless:
                yield Fault(
                    where,
                    say("The third {form} shares the trait {trait}, which is measured and not seen.", form=third.form, trait=third.trait),
                    say("Name a trait with states, or give this one states."),
                )
        yield from _repeated(where, THIRD, [say("{form} by {trait}", form=third.form, trait=third.trait) for third in pair.thirds])


def faults_of_sets(catalogue: FolderCatalogue) -> Iterator[Fault]:
    """Check pair sets and their stages."""
    pairs = {pair.forms for pair in catalogue.pairs}
    yield from _repeated(SETS_FILE, SET, [one.key for one in catalogue.sets])
    for one in catalogue.sets:
        where = within_file(SETS_FILE, named(SET, one.key))
        yield from _bad_key(where, one.key)
        if not one.stages:
            yield Fault(where, say("It has no stage."), say("Write at least one [[sets.stages]] with pairs."))
        for stage in one.stages:
            yield from _bad_stage(joined(", ", (where, named(STAGE, stage.title))), stage, pairs)
        in_stages = [
            (pair, frozenset(stage.poses), frozenset(stage.distances)) for stage in one.stages for pair in dict.fromkeys(stage.pairs)
        ]
        mend = say("Leave it in the stage where it belongs, or let its stages hold pictures of different poses or distances.")
        yield from _repeated(where, PAIR, [listed(pair) for pair, *_ in _twice_alike(in_stages)], mend=mend)


def _twice_alike(in_stages: Iterable[InStage]) -> Iterator[InStage]:
    """Yield what stands in stages that hold the same pictures."""
    for found, times in Counter(in_stages).items():
        yield from [found] * (times if times > 1 else 0)


def _bad_stage(where: str, stage: FolderStage, pairs: set[tuple[str, str]]) -> Iterator[Fault]:
    for distance in stage.distances:
        if distance not in DISTANCES:
            yield Fault(
                where,
                say("The distance {distance} is unknown.", distance=distance),
                say("Choose one of {choices}.", choices=", ".join(DISTANCES)),
            )
    for pose in stage.poses:
        if not pose or len(pose) > LONGEST_POSE:
            yield Fault(
                where, say("It names a pose that no picture can have."), say("Write each with {most} letters at most.", most=LONGEST_POSE)
            )
    if not stage.pairs:
        yield Fault(where, say("It has no pairs."), say('Write pairs = [["one_form", "other_form"]].'))
    for forms in dict.fromkeys(stage.pairs):
        if forms not in pairs:
            yield Fault(where, say("There is no pair of {forms}.", forms=listed(forms)), say("Add it as one of [[pairs]], or take it out."))
    yield from _repeated(where, PAIR, [listed(pair) for pair in stage.pairs], mend=say("Name it once."))


def _bad_pair(where: str, pair: FolderPair) -> Iterator[Fault]:
    first, second = pair.forms
    if first == second:
        yield Fault(where, say("It pairs a form with itself."), say("Name two different forms."))
    if not 0 <= pair.third_share <= MOST_THIRDS:
        yield Fault(
            where, say("third_share is {said:g}.", said=pair.third_share), say("Write a share from 0 to {most:g}.", most=MOST_THIRDS)
        )


def _bad_words(where: str, form: FolderForm) -> Iterator[Fault]:
    for name, said, known in (
        ("sex", form.sex, SEXES),
        ("lifeStage", form.life_stage, LIFE_STAGES),
        ("taxonRank", form.taxon_rank, TAXON_RANKS),
    ):
        if said and said not in known:
            mend: Said = say("Choose one of {choices}.", choices=", ".join(known))
            if name == "lifeStage":
                mend = joined(" ", (mend, say("Plumage and moult go under plumage.")))
            yield Fault(where, say("{name} says {said}.", name=name, said=said), mend)


def _bad_chances(where: str, trait: FolderTrait, said: dict[str, SaidChance]) -> Iterator[Fault]:
    states = [state.key for state in trait.states]
    chances: dict[str, float] = {}
    is_sound = True
    for state, chance in said.items():
        if state not in states:
            yield Fault(where, say("There is no state {state}.", state=state), say("Its states are {states}.", states=", ".join(states)))
            is_sound = False
            continue
        try:
            counted = chance.shown is not None and chance.of is not None
            chances[state] = chance_of_count(chance.shown or 0, chance.of or 0) if counted else chance_of_word(chance.word)
        except Invalid:
            yield Fault(
                where,
                _odd_chance(state, chance),
                say("Write one of {choices}, or {{ shown = 18, of = 20 }}.", choices=", ".join(CHANCE_WORDS)),
            )
            is_sound = False
    if is_sound and len(states) == len(set(states)):
        try:
            fill_chances(chances, states)
        except Invalid as error:
            yield Fault(where, error.sentence, say("Say it anew so that it comes to about 1."))


def _bad_measure(where: str, trait: FolderTrait | None, measured: Measured) -> Iterator[Fault]:
    if trait is None:
        yield Fault(where, say("There is no trait to measure."), say("Name one of [[traits]], or add it there."))
    elif not trait.unit:
        yield Fault(where, say("It is measured, but its trait has no unit."), say('Write unit = "mm" at the trait, or whatever it is.'))
    try:
        check_measured(measured.mean, measured.spread, measured.n)
    except Invalid as error:
        measure = "{ mean = 38.5, spread = 2.1, n = 40 }"
        yield Fault(where, error.sentence, say("Write {trait} = {measure}.", trait=trait.key if trait else "bill", measure=measure))


def _odd_chance(state: str, chance: SaidChance) -> str:
    if chance.shown is None:
        return say("How often {state} is shown is said by the unknown word “{word}”.", state=state, word=chance.word)
    return say("{state} says {shown} of {of}, which is no count of specimens.", state=state, shown=chance.shown, of=chance.of)


def _bad_key(where: str, key: str) -> Iterator[Fault]:
    if key and not KEY.fullmatch(key):
        yield Fault(where, say("{key} is no key.", key=key), KEY_MEND)


def _repeated(where: str, what: Said, keys: Iterable[str], *, mend: str = ONCE) -> Iterator[Fault]:
    for key, times in Counter(keys).items():
        if key and times > 1:
            said = say("It is there twice.") if times == 2 else say("It is there {times} times.", times=times)
            yield Fault(joined(", ", (where, named(what, key))), said, mend)
