"""Lays out what a catalogue says as fields by path, so that a change is the fields that differ."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import astuple, replace
from dataclasses import fields as fields_of
from types import MappingProxyType
from typing import Any, Final

from drillhall.catalogues.folder import (
    FolderCalled,
    FolderCatalogue,
    FolderForm,
    FolderMapping,
    FolderName,
    FolderPair,
    FolderSet,
    FolderStage,
    FolderState,
    FolderThird,
    FolderTrait,
    SaidChance,
)
from drillhall.catalogues.writing.extras import from_json, to_json
from drillhall.core.tongues import words_in, words_out
from drillhall.core.values import Measured, Words

Fields = Mapping[str, Any]
"""Path → what JSON can hold. "forms" is the order of the forms' keys, "forms/<key>/note" a form's note, and so on."""

HEAD: Final = ("title", "language", "subject", "list_name", "note", "mappings", "extra", "beside", "sets_beside")
PARTS: Final = ("traits", "forms", "pairs", "sets")
_EXTRAS: Final = frozenset({"extra", "beside", "sets_beside"})
_OWN_WAY: Final = frozenset({"key", "said", "forms", "traits", "measures", "states", "thirds", "stages", "pairs", *_EXTRAS})
_RECORDS: Final[Mapping[str, Callable[..., Any]]] = MappingProxyType(
    {"also_named": FolderName, "called": FolderCalled, "mappings": FolderMapping}
)
_COUNTED: Final = re.compile(r"(\d+)\s*(?:of|/)\s*(\d+)", re.ASCII)


def to_fields(catalogue: FolderCatalogue) -> dict[str, Any]:
    """Return what a catalogue says by path, its pictures left aside."""
    found: dict[str, Any] = {name: _plain(name, getattr(catalogue, name)) for name in HEAD}
    for part in PARTS:
        items = getattr(catalogue, part)
        found[part] = [item.key for item in items]
        for item in items:
            found |= {f"{part}/{item.key}/{name}": value for name, value in _inside(item).items()}
    return found


def from_fields(fields: Fields, like: FolderCatalogue) -> FolderCatalogue:
    """Return the catalogue that the fields say; its key, and what no field holds, are those of `like`."""
    return replace(
        like,
        **{name: _back(name, fields[name]) for name in HEAD},
        traits=tuple(_trait(key, _beneath(fields, f"traits/{key}")) for key in fields["traits"]),
        forms=tuple(_form(key, _beneath(fields, f"forms/{key}")) for key in fields["forms"]),
        pairs=tuple(_pair(key, _beneath(fields, f"pairs/{key}")) for key in fields["pairs"]),
        sets=tuple(_set(key, _beneath(fields, f"sets/{key}")) for key in fields["sets"]),
    )


def differing(old: Fields, new: Fields) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the fields that differ, as they were and as they are; one that is missing on a side is absent there."""
    paths = [path for path in {**old, **new} if path not in old or path not in new or old[path] != new[path]]
    return {path: old[path] for path in paths if path in old}, {path: new[path] for path in paths if path in new}


def within(fields: Fields, scope: Iterable[str]) -> dict[str, Any]:
    """Return the fields at some paths and beneath them."""
    tops = tuple(scope)
    return {path: value for path, value in fields.items() if any(path == top or path.startswith(f"{top}/") for top in tops)}


def version_of(fields: Fields, scope: Iterable[str]) -> str:
    """Return a mark of what the fields in a scope say: the same as long as they say the same."""
    said = json.dumps(within(fields, scope), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()[:24]


def is_order(path: str) -> bool:
    """Whether a path holds the order of keys: of a part, or of a trait's states."""
    return path in PARTS or (path.count("/") == 2 and path.startswith("traits/") and path.endswith("/states"))


def chance_words(chance: SaidChance) -> str:
    """Return how often a state is shown as one types it: `usually`, or `18 of 20`."""
    return chance.word or f"{chance.shown} of {chance.of}"


def read_chance(typed: str) -> SaidChance:
    """Return what was typed of how often a state is shown; a word that is none is judged by the checks.

    >>> read_chance("18/20"), read_chance(" Usually ")
    (SaidChance(word='', shown=18, of=20), SaidChance(word='usually', shown=None, of=None))
    """
    counted = _COUNTED.fullmatch(typed.strip())
    return SaidChance(shown=int(counted[1]), of=int(counted[2])) if counted else SaidChance(typed.strip().casefold())


def _inside(item: FolderTrait | FolderForm | FolderPair | FolderSet | FolderState | FolderStage) -> dict[str, Any]:
    """Return a thing's own fields by name, those of its states and chances beneath their keys."""
    names = [field.name for field in fields_of(item) if field.name not in _OWN_WAY or field.name in _EXTRAS]
    found = {name: _plain(name, getattr(item, name)) for name in names}
    if isinstance(item, FolderTrait | FolderPair | FolderState):
        found |= {f"said/{tag}/{name}": value for tag, one in words_out(item.said).items() for name, value in one.items()}
    match item:
        case FolderTrait():
            found["states"] = [state.key for state in item.states]
            found |= {f"states/{state.key}/{name}": value for state in item.states for name, value in _inside(state).items()}
        case FolderForm():
            said = ((trait, state, chance) for trait, states in item.traits.items() for state, chance in states.items())
            found |= {f"traits/{trait}/{state}": chance_words(chance) for trait, state, chance in said}
            found |= {f"measures/{trait}": list(astuple(one)) for trait, one in item.measures.items()}
        case FolderPair():
            found["thirds"] = [[third.form, third.trait] for third in item.thirds]
        case FolderSet():
            found["stages"] = [_inside(stage) for stage in item.stages]
        case FolderStage():
            found["pairs"] = [list(forms) for forms in item.pairs]
        case _:
            pass
    return found


def _trait(key: str, said: dict[str, Any]) -> FolderTrait:
    keys = said.pop("states")
    states = []
    for state in keys:
        beneath = _beneath(said, f"states/{state}")
        states.append(FolderState(key=state, said=_words(beneath), **_own(beneath)))
    return FolderTrait(key=key, states=tuple(states), said=_words(said), **_own(said))


def _form(key: str, said: dict[str, Any]) -> FolderForm:
    traits: dict[str, dict[str, SaidChance]] = {}
    for path, typed in _beneath(said, "traits").items():
        trait, _, state = path.partition("/")
        traits.setdefault(trait, {})[state] = read_chance(typed)
    measures = {trait: Measured(*one) for trait, one in _beneath(said, "measures").items()}
    return FolderForm(key=key, traits=traits, measures=measures, **_own(said))


def _pair(key: str, said: dict[str, Any]) -> FolderPair:
    first, _, second = key.partition(":")
    thirds = tuple(FolderThird(form, trait) for form, trait in said.pop("thirds"))
    return FolderPair(forms=(first, second), thirds=thirds, said=_words(said), **_own(said))


def _set(key: str, said: dict[str, Any]) -> FolderSet:
    return FolderSet(key=key, stages=tuple(_stage(dict(stage)) for stage in said.pop("stages")), **_own(said))


def _stage(said: dict[str, Any]) -> FolderStage:
    pairs = tuple((first, second) for first, second in said.pop("pairs"))
    return FolderStage(pairs=pairs, **_own(said))


def _words(said: Fields) -> dict[str, Words]:
    told: dict[str, dict[str, Any]] = {}
    for path, value in _beneath(said, "said").items():
        tag, _, name = path.partition("/")
        told.setdefault(tag, {})[name] = value
    return words_in(told)


def _own(said: Fields) -> dict[str, Any]:
    return {name: _back(name, value) for name, value in said.items() if "/" not in name}


def _beneath(fields: Fields, top: str) -> dict[str, Any]:
    return {path.removeprefix(f"{top}/"): value for path, value in fields.items() if path.startswith(f"{top}/")}


def _plain(name: str, value: Any) -> Any:
    if name in _EXTRAS:
        return to_json(value)
    if name in _RECORDS:
        return [list(astuple(one)) for one in value]
    return list(value) if isinstance(value, tuple) else value


def _back(name: str, value: Any) -> Any:
    if name in _EXTRAS:
        return from_json(value)
    if name in _RECORDS:
        return tuple(_RECORDS[name](*one) for one in value)
    return tuple(value) if isinstance(value, list) else value
