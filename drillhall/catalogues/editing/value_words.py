"""The words for what a catalogue keeps as a key, as they are read and typed in every language."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from drillhall.words import Said, say

SUBJECTS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "bird": say("bird"),
        "other animal": say("other animal"),
        "plant": say("plant"),
        "fungus": say("fungus"),
        "shellfish": say("shellfish"),
        "other": say("other", ctx="what a catalogue is about"),
    }
)
TAXON_RANKS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "kingdom": say("kingdom"),
        "phylum": say("phylum"),
        "class": say("class", ctx="rank"),
        "order": say("order", ctx="rank"),
        "family": say("family"),
        "subfamily": say("subfamily"),
        "genus": say("genus"),
        "subgenus": say("subgenus"),
        "species": say("species"),
        "subspecies": say("subspecies"),
        "variety": say("variety"),
        "form": say("form", ctx="rank"),
        "cultivar": say("cultivar"),
    }
)
TRAIT_KINDS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "structure": say("structure"),
        "size": say("size"),
        "pattern": say("pattern"),
        "behaviour": say("behaviour"),
        "colour": say("colour"),
    }
)
HOW_OFTEN: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "always": say("always", ctx="of a state"),
        "usually": say("usually", ctx="of a state"),
        "often": say("often", ctx="of a state"),
        "sometimes": say("sometimes", ctx="of a state"),
        "rarely": say("rarely", ctx="of a state"),
        "never": say("never", ctx="of a state"),
    }
)
"""How often a form shows a state."""
OF: Final[Mapping[str, Said]] = MappingProxyType({"of": say("of", ctx="18 of 20")})
THINGS: Final[Mapping[str, Said]] = MappingProxyType(
    {"form": say("form", ctx="of a catalogue"), "trait": say("trait"), "pair": say("pair"), "pair set": say("pair set")}
)
"""What a catalogue is made of."""
