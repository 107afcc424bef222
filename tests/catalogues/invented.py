"""Invents whole catalogues for properties: every field, odd signs included, and what goes beyond our words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from string import ascii_lowercase
from typing import Any

from hypothesis import strategies as st

from drillhall.catalogues.folder import (
    FolderCatalogue,
    FolderForm,
    FolderPair,
    FolderPicture,
    FolderSet,
    FolderStage,
    FolderState,
    FolderThird,
    FolderTrait,
    SaidChance,
)
from drillhall.catalogues.reading.concepts import concept_id
from drillhall.core.licences import LICENCES, PUBLIC_DOMAIN_MARK
from drillhall.core.terms import CHANCE_WORDS, DISTANCES, LIFE_STAGES, MEDIA, ORIENTATIONS, SEXES, SUBJECTS
from drillhall.core.values import Mark, Measured, TraitKind, Words

SIGNS = st.characters(exclude_categories=["Cc", "Cs"])
TEXT = st.text(SIGNS, max_size=12).map(str.strip)
NEEDED = st.text(SIGNS, min_size=1, max_size=12).map(str.strip).filter(bool)
LINES = st.text(st.one_of(SIGNS, st.sampled_from("\n\t\"\\'=+-@,;#")), max_size=24).map(str.strip)
KEYS = st.text(ascii_lowercase + "0123456789_-", min_size=1, max_size=6).filter(lambda key: key[0].isalnum())
LEAF = st.one_of(TEXT, st.booleans(), st.integers(-(2**63), 2**63 - 1), st.floats(allow_nan=False), st.dates(), st.times(), st.datetimes())
VALUE = st.recursive(LEAF, lambda inside: st.one_of(st.lists(inside, max_size=2), st.dictionaries(TEXT, inside, max_size=2)), max_leaves=4)
EXTRA = st.dictionaries(TEXT.map(lambda key: f"x {key}"), VALUE, max_size=2)
MEASURES = st.builds(Measured, st.floats(-1e9, 1e9), st.floats(1e-6, 1e9), st.none() | st.integers(1, 10**9))
TAGS = st.lists(st.sampled_from(["de", "de-AT", "fr", "sr-Cyrl"]), max_size=2, unique=True)
TAGGED = st.just({"x": {"toml:date": "no day"}})


def _unique(keys: st.SearchStrategy[str], *, least: int, most: int) -> st.SearchStrategy[list[str]]:
    return st.lists(keys, min_size=least, max_size=most, unique=True)


@st.composite
def traits(draw: st.DrawFn) -> FolderTrait:
    keys = draw(_unique(KEYS, least=2, most=3))
    colour = st.sampled_from(["", "#0a1b2c"])
    tags = draw(TAGS)
    said = [
        FolderState(
            key, draw(NEEDED), tuple(draw(st.lists(TEXT, max_size=2))), draw(colour), draw(EXTRA), draw(_state_words(f"#{number}", tags))
        )
        for number, key in enumerate(keys)
    ]
    unit = draw(st.sampled_from(["", "mm", "µm"]))
    if unit and draw(st.booleans()):
        said = []
    return FolderTrait(
        "",
        draw(NEEDED),
        draw(NEEDED),
        draw(st.sampled_from(list(TraitKind))).value,
        tuple(said),
        draw(TEXT),
        draw(LINES),
        draw(EXTRA),
        unit,
        {tag: Words(label=draw(NEEDED), ask=draw(TEXT)) for tag in tags if draw(st.booleans())},
    )


def _state_words(mark: str, tags: list[str]) -> st.SearchStrategy[dict[str, Words]]:
    """Return words in other languages of which none is another state's, each ending in the state's mark."""
    word = NEEDED.map(lambda word: f"{word} {mark}")
    words = st.builds(Words, label=word, also_called=st.lists(word, max_size=2).map(tuple))
    return st.fixed_dictionaries({}, optional=dict.fromkeys(tags, words))


@st.composite
def chances(draw: st.DrawFn, trait: FolderTrait) -> dict[str, SaidChance]:
    """Say one state, by a word or by counts that leave enough for the sum to be near 1."""
    state = draw(st.sampled_from(trait.states)).key
    said = st.one_of(
        st.sampled_from([word for word, chance in CHANCE_WORDS.items() if chance >= 0.5]).map(SaidChance),
        st.integers(10, 40).map(lambda of: SaidChance(shown=of - 2, of=of)),
    )
    return {state: draw(said)}


@st.composite
def forms(draw: st.DrawFn, key: str, number: int, list_name: str, known: tuple[FolderTrait, ...]) -> FolderForm:
    name = f"Fictavis {draw(st.sampled_from(['limosa', 'grandis', 'lutosa']))} {number}"
    said = {trait.key: draw(chances(trait)) for trait in known if trait.states and draw(st.booleans())}
    measures = {trait.key: draw(MEASURES) for trait in known if trait.unit and draw(st.booleans())}
    return FolderForm(
        key=key,
        scientific_name=name,
        vernacular_name=draw(NEEDED),
        taxon_concept_id=draw(st.sampled_from([concept_id(list_name, name), f"c{number}-2031"])),
        taxon_rank=draw(st.sampled_from(["species", "subspecies"])),
        sex=draw(st.sampled_from(["", *SEXES])),
        life_stage=draw(st.sampled_from(["", *LIFE_STAGES])),
        plumage=draw(TEXT),
        variant=draw(TEXT),
        length_mm=draw(st.none() | st.integers(1, 100_000)),
        note=draw(LINES),
        traits=said,
        measures=measures,
        extra=draw(EXTRA),
    )


@st.composite
def pairs(draw: st.DrawFn, held: list[FolderForm], known: tuple[FolderTrait, ...]) -> tuple[FolderPair, ...]:
    chosen = draw(st.lists(st.sampled_from([(a, b) for a in held for b in held if a.key != b.key]), max_size=3))
    unique = {frozenset((a.key, b.key)): (a.key, b.key) for a, b in chosen}
    said = []
    for two in unique.values():
        others = [form.key for form in held if form.key not in two]
        thirds = {FolderThird(form, trait.key) for form in others for trait in known if trait.states and draw(st.booleans())}
        share = draw(st.floats(0, 0.1))
        notes = {tag: Words(note=note) for tag in draw(TAGS) if (note := draw(LINES))}
        said.append(FolderPair(two, draw(LINES), draw(st.booleans()), share, tuple(sorted(thirds)), draw(EXTRA), notes))
    return tuple(said)


@st.composite
def sets(draw: st.DrawFn, key: str, said: tuple[FolderPair, ...]) -> FolderSet:
    cut = draw(st.integers(1, len(said)))
    stages = [said[:cut], said[cut:]]
    held = st.tuples(_unique(NEEDED, least=0, most=2), _unique(st.sampled_from(DISTANCES), least=0, most=2))
    made = tuple(
        FolderStage(draw(NEEDED), tuple(pair.forms for pair in stage), *map(tuple, draw(held)), draw(EXTRA)) for stage in stages if stage
    )
    return FolderSet(key, draw(NEEDED), made, draw(LINES), draw(EXTRA))


@st.composite
def pictures(draw: st.DrawFn, file: str, form: str, known: tuple[FolderTrait, ...], columns: list[str]) -> FolderPicture:
    licence = draw(st.sampled_from([None, *LICENCES.values()]))
    marked = [trait.key for trait in known if draw(st.booleans())]
    side = st.integers(1, 5000).map(lambda number: number / 10_000)
    return FolderPicture(
        file=file,
        form=form,
        use=draw(st.sampled_from(["practice", "portrait", "held-out"])),
        creator=draw(NEEDED),
        licence=(licence.url or licence.id) if licence else "",
        credit=draw(NEEDED),
        rights_owner=draw(TEXT),
        source=draw(TEXT),
        title=draw(LINES),
        statement=draw(NEEDED if licence == PUBLIC_DOMAIN_MARK else LINES),  # that mark needs its reason
        medium=draw(st.sampled_from(MEDIA)),
        taken_on=draw(st.one_of(st.none(), st.dates(date(1850, 1, 1)))),
        orientation=draw(st.sampled_from(["", *ORIENTATIONS])),
        pose=draw(TEXT),
        distance=draw(st.sampled_from(["", *DISTANCES])),
        setting=draw(TEXT),
        typical=draw(st.booleans()),
        alt=draw(LINES),
        marks=tuple(Mark(trait, draw(side), draw(side), draw(side), draw(side)) for trait in sorted(marked)),
        extra={column: draw(LINES) for column in columns},
    )


@st.composite
def catalogues(draw: st.DrawFn, *, files: tuple[str, ...]) -> FolderCatalogue:
    """Invent a catalogue without faults, whose pictures have these files."""
    list_name = draw(NEEDED.filter(lambda name: any(sign.isalnum() for sign in name)))
    known = tuple(replace(draw(traits()), key=key) for key in draw(_unique(KEYS, least=1, most=3)))
    held = [draw(forms(key, number, list_name, known)) for number, key in enumerate(draw(_unique(KEYS, least=2, most=4)))]
    said = draw(pairs(held, known))
    keys = draw(_unique(KEYS, least=0, most=2)) if said else []
    columns = draw(st.lists(NEEDED.map(lambda name: f"x {name}"), max_size=2, unique_by=str.casefold))
    beside: Any = draw(st.one_of(EXTRA, TAGGED))
    return FolderCatalogue(
        key=draw(st.text(ascii_lowercase, min_size=1, max_size=8)),
        title=draw(NEEDED),
        subject=draw(st.sampled_from(SUBJECTS)),
        list_name=list_name,
        language=draw(st.sampled_from(["en", "pt-BR"])),
        note=draw(LINES),
        traits=known,
        forms=tuple(held),
        pairs=said,
        sets=tuple(draw(sets(key, said)) for key in keys),
        pictures=tuple(draw(pictures(file, draw(st.sampled_from(held)).key, known, columns)) for file in files),
        extra=draw(EXTRA),
        beside=beside,
        sets_beside=draw(EXTRA),
    )
