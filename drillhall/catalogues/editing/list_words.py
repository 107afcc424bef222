"""Says in words what fields of a catalogue that hold several things, or what only its file knows, say."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from drillhall.catalogues.editing.mapping import RELATIONS
from drillhall.catalogues.writing.extras import SORT
from drillhall.core.term_words import POSES
from drillhall.words import Said, joined, say

DISTANCES: Final[Mapping[str, Said]] = MappingProxyType(
    {"near": say("from near"), "middle": say("from a middle distance"), "far": say("from far")}
)
"""A distance that a stage holds → the words for it."""


def other_names(names: Sequence[Sequence[str]]) -> Said:
    """Return what a form is called elsewhere: of each name where (a list, or a language by its tag), then the name.

    >>> other_names([["Other List 2030", "Fictavis minor", "Small Oozer"], ["Old List", "Fictavis parva", ""]])
    'Other List 2030: Fictavis minor, Small Oozer; Old List: Fictavis parva'
    """
    return joined("; ", [joined(": ", (where, joined(", ", [one for one in called if one]))) for where, *called in names])


def mappings(said: Sequence[Sequence[str]]) -> Said:
    """Return how concepts lie to each other: subject, relation, object, and who says so where that is said."""
    told = [joined(" ", (subject, RELATIONS.get(relation, relation), other)) for subject, relation, other, _ in said]
    return joined("; ", [joined("", (words, f" ({one[3]})" if one[3] else "")) for words, one in zip(told, said, strict=True)])


def stage(said: Mapping[str, Any]) -> str:
    """Return what a stage is called, with the pictures that it holds where it does not hold all."""
    held = [POSES.get(pose, pose) for pose in said.get("poses", ())]
    held += [DISTANCES.get(distance, distance) for distance in said.get("distances", ())]
    return say("{title} ({held} alone)", title=said["title"], held=joined(", ", held)) if held else str(said["title"])


def beside(value: Any) -> str:
    """Return what a file says beyond our words: tables and lists within each other, as one reads them aloud.

    >>> beside({"ringed": True, "seen": {"toml:date": "2031-03-03"}, "marks": ["bill", "legs"]})
    'ringed: yes; seen: 2031-03-03; marks: bill, legs'
    """
    if isinstance(value, Mapping):
        if len(value) == 1 and next(iter(value)).startswith(SORT):
            return beside(next(iter(value.values())))
        return joined("; ", [joined(": ", (key, beside(inside))) for key, inside in value.items()])
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    return joined(", ", map(beside, value)) if isinstance(value, list) else str(value)


IN_WORDS: Final[Mapping[str, Callable[[Any], str]]] = MappingProxyType(
    {
        "also_named": other_names,
        "called": other_names,
        "mappings": mappings,
        "extra": beside,
        "beside": beside,
        "sets_beside": beside,
    }
)
"""A field → how its value is told."""
