"""What sex and stage of life are called under a form's name."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Final

from drillhall.words import Said, joined, say

SEXES: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "female": say("female"),
        "male": say("male"),
        "hermaphrodite": say("hermaphrodite"),
        "indeterminate": say("indeterminate", ctx="sex"),
    }
)
LIFE_STAGES: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "egg": say("egg"),
        "larva": say("larva"),
        "pupa": say("pupa"),
        "nymph": say("nymph"),
        "juvenile": say("juvenile"),
        "immature": say("immature"),
        "subadult": say("subadult"),
        "adult": say("adult"),
        "seedling": say("seedling"),
        "flowering": say("flowering"),
        "fruiting": say("fruiting"),
    }
)
PLUMAGES: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "breeding": say("breeding", ctx="plumage"),
        "non-breeding": say("non-breeding", ctx="plumage"),
        "summer": say("summer", ctx="plumage"),
        "winter": say("winter", ctx="plumage"),
        "eclipse": say("eclipse", ctx="plumage"),
    }
)
"""Plumages that many catalogues name; any other word is told as its author wrote it."""


@cache
def worn_words(life_stage: str, plumage: str, sex: str, variant: str) -> Said:
    """Return the words under a form's name: of what is said of it the stage of life, the plumage, the sex and the variant.

    >>> worn_words("adult", "summer", "male", "")
    'summer, male'
    >>> worn_words("adult", "breeding", "", "").told("de")
    'Prachtkleid'
    """
    stage = "" if life_stage == "adult" and plumage else LIFE_STAGES.get(life_stage, life_stage)
    return joined(", ", [word for word in (stage, PLUMAGES.get(plumage, plumage), SEXES.get(sex, sex), variant) if word])
