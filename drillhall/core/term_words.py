"""The controlled terms in words, told in the reader's language; what she types in it is taken for the term again."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from drillhall.core.values import Rendition, Use, worn
from drillhall.words import Said, say, speaking

SEXES: Final = worn.SEXES
LIFE_STAGES: Final = worn.LIFE_STAGES
MEDIA: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "Photograph": say("photograph"),
        "Drawing": say("drawing"),
        "Illustration": say("illustration"),
        "Diagram": say("diagram"),
        "Painting": say("painting"),
        "Scan": say("scan"),
        "Other": say("other", ctx="kind of picture"),
    }
)
DISTANCES: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "near": say("near: every feather shows"),
        "middle": say("a middle distance: the pattern shows"),
        "far": say("far: shape and size alone"),
    }
)
SEEN_FROM: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "lateral": say("from the side"),
        "left": say("on its left side"),
        "right": say("on its right side"),
        "anterior": say("from in front"),
        "posterior": say("from behind"),
        "dorsal": say("from above"),
        "ventral": say("from below"),
    }
)
"""The orientations that an owner may choose, in plain words."""

ORIENTATIONS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "lateral": say("lateral"),
        "left": say("left"),
        "right": say("right", ctx="side"),
        "anterior": say("anterior"),
        "posterior": say("posterior"),
        "dorsal": say("dorsal"),
        "ventral": say("ventral"),
    }
)
"""The same as one word each, as they stand in a table."""

POSES: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "standing": say("standing"),
        "walking": say("walking"),
        "feeding": say("feeding"),
        "swimming": say("swimming"),
        "flying": say("flying"),
        "perched": say("perched"),
    }
)
SETTINGS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "mud": say("mud"),
        "water": say("water"),
        "grass": say("grass"),
        "sky": say("sky"),
        "rock": say("rock"),
        "branch": say("branch"),
    }
)
"""The poses and the settings that are offered; any other word may be written as well, and stands as it is."""

RENDITIONS: Final[Mapping[str, Said]] = MappingProxyType(
    {Rendition.FAR_OFF.value: say("far off"), Rendition.SHAPE_ONLY.value: say("shape only")}
)
SUBJECT: Final = say("which one is meant")
"""What a mark shows that is drawn for no trait."""

USES: Final[Mapping[str, Said]] = MappingProxyType(
    {Use.PRACTICE.value: say("practice"), Use.PORTRAIT.value: say("portrait"), Use.HELD_OUT.value: say("field tests")}
)


def in_words(term: str, words: Mapping[str, Said]) -> str:
    """Return a term in words where it is one of these, else as it is."""
    return words.get(term, term)


def term_of(typed: str, words: Mapping[str, Said]) -> str:
    """Return the term that a word means in the language that is spoken, so that it is kept alike whoever types it; else the word.

    >>> term_of(" Mud", SETTINGS), term_of("sand", SETTINGS)
    ('mud', 'sand')
    """
    said = typed.strip()
    return next((term for term, word in words.items() if said.casefold() in (term.casefold(), word.told(speaking()).casefold())), said)


def plain_alt(medium: str, orientation: str = "") -> Said:
    """Return words for a picture that give nothing away: what it is, and from where it is seen.

    >>> plain_alt("Drawing", "left")
    'Drawing for this question, seen on its left side.'
    """
    kind = MEDIA[medium].capitalize() if medium in MEDIA else medium
    if orientation in SEEN_FROM:
        return say("{medium} for this question, seen {side}.", medium=kind, side=SEEN_FROM[orientation])
    return say("{medium} for this question.", medium=kind)


_PLAIN: Final = {str(alt): alt for medium in MEDIA for orientation in ("", *SEEN_FROM) if (alt := plain_alt(medium, orientation))}


def told_alt(alt: str) -> str:
    """Return the words kept for a picture, told in the reader's language where the hall put them together itself."""
    return _PLAIN.get(alt, alt)
