"""What is said of the forms that are drawn: traits with their states, each form's states, the pairs in their stages."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drillhall.core.measures import check_measured
from drillhall.core.values import Measured
from drillhall.demo.painter.studio import Painting

LEAST_PIXELS = 1.3
"""A mark is taken to be visible from this many sharp pixels on (our own rule, no source)."""


@dataclass(frozen=True, slots=True)
class DrawnState:
    """One state of a trait, as the catalogue will say it."""

    key: str
    label: str
    also_called: tuple[str, ...] = ()
    colour: str = ""
    german: str = ""
    also_called_german: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DrawnTrait:
    """One trait, with the place of its mark and what it takes to see it.

    needs: share of the place that must be in view; fine: breadth of the trait in head lengths.
    """

    key: str
    label: str
    ask: str
    part: str
    place: str
    kind: str
    needs: float
    fine: float
    states: tuple[DrawnState, ...]
    german: str = ""
    ask_german: str = ""

    def is_in_view(self, painting: Painting) -> bool:
        """Return whether the place is in view and the trait is not too fine for this drawing."""
        if self.place not in painting.regions or painting.seen[self.place] < self.needs:
            return False
        return self.fine * painting.head_pixels >= LEAST_PIXELS


@dataclass(frozen=True, slots=True)
class DrawnPair:
    """Two forms that get confused, and a third that shares the state of `trait` with one of them."""

    forms: tuple[str, str]
    stage: int
    third: str
    trait: str
    note: str
    german: str = ""


@dataclass(frozen=True, slots=True)
class MeasuredTrait:
    """A trait that is measured in the hand; `forms` says form → mean, spread and n. No picture is asked for it."""

    key: str
    label: str
    german: str
    part: str
    kind: str
    unit: str
    forms: Mapping[str, Measured]


@dataclass(frozen=True, slots=True)
class Book:
    """All of it; `states` says form → trait → state."""

    traits: tuple[DrawnTrait, ...]
    states: Mapping[str, Mapping[str, str]]
    pairs: tuple[DrawnPair, ...]
    measured: tuple[MeasuredTrait, ...]

    def trait(self, key: str) -> DrawnTrait:
        """Return the trait of that key, or raise KeyError."""
        for trait in self.traits:
            if trait.key == key:
                return trait
        raise KeyError(key)

    def telling(self, pair: DrawnPair) -> tuple[DrawnTrait, ...]:
        """Return the traits in which the two forms of a pair differ."""
        first, second = (self.states[key] for key in pair.forms)
        return tuple(t for t in self.traits if t.key in first and t.key in second and first[t.key] != second[t.key])


@cache
def read_book() -> Book:
    """Read traits.toml, and german.toml beside it."""
    said, german = _read("traits.toml"), _read("german.toml")
    traits = tuple(_trait(t, german["traits"][t["key"]]) for t in said["trait"])
    pairs = tuple(
        DrawnPair((p["forms"][0], p["forms"][1]), p["stage"], p["third"], p["trait"], p["note"], german["pairs"][":".join(p["forms"])])
        for p in said["pair"]
    )
    measured = tuple(
        MeasuredTrait(**m | {"forms": {form: check_measured(one["mean"], one["spread"], one["n"]) for form, one in m["forms"].items()}})
        for m in said["measured"]
    )
    return Book(traits=traits, states=said["states"], pairs=pairs, measured=measured)


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("drillhall.demo").joinpath(name).read_text(encoding="utf-8"))


def _trait(said: Mapping[str, Any], german: Mapping[str, Any]) -> DrawnTrait:
    return DrawnTrait(
        key=said["key"],
        label=said["label"],
        ask=said["ask"],
        part=said["part"],
        place=said.get("place", said["part"]),
        kind=said["kind"],
        needs=float(said["needs"]),
        fine=float(said["fine"]),
        states=tuple(_state(state, german["states"][state["key"]]) for state in said["states"]),
        german=german["label"],
        ask_german=german["ask"],
    )


def _state(said: Mapping[str, Any], german: str | Mapping[str, Any]) -> DrawnState:
    words = {"label": german} if isinstance(german, str) else german
    also = tuple(said.get("also_called", ()))
    return DrawnState(said["key"], said["label"], also, said.get("colour", ""), words["label"], tuple(words.get("also_called", ())))
