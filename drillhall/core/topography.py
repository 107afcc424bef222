"""Says in words what each part of an organism is, and where on our drawing of a bird it lies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from drillhall.core.terms import PARTS
from drillhall.words import Said, say

Spot = tuple[int, int]
"""A place on the drawing: units from its left and from its top."""

DRAWING: Final = (420, 350)
"""Width and height of the drawing of the bird, in its own units."""

RAISED_WING: Final = (420, 150)
"""Width and height of the drawing of a raised wing, seen from below."""


@dataclass(frozen=True, slots=True)
class PartTold:
    """A part in words: `spot` is where it lies on a drawing and `number_at` where its number stands; both None where it is on none.

    `on_wing` says that it lies on the drawing of the raised wing.
    """

    key: str
    label: Said
    words: Said
    spot: Spot | None = None
    number_at: Spot | None = None
    on_wing: bool = False


def _told(key: str, words: Said, spot: Spot | None = None, number_at: Spot | None = None, *, on_wing: bool = False) -> PartTold:
    return PartTold(key, PARTS[key].label, words, spot, number_at, on_wing)


_BIRD: Final = (
    _told(
        "bill",
        say("Both jaws in their horny sheath. Look how long it is against the head, how thick, where it bends."),
        (58, 100),
        (24, 66),
    ),
    _told(
        "face", say("The front of the head round bill and eye, with the line through the eye and the one above it."), (107, 92), (62, 26)
    ),
    _told("eye", say("The eye itself and the ring of bare skin or short feathers round it."), (123, 87), (100, 18)),
    _told("crown", say("The top of the head, from the forehead back."), (140, 62), (138, 18)),
    _told("head", say("All of it, bill left out: its size against the body, its shape, its pattern as a whole."), (152, 78), (176, 24)),
    _told("nape", say("The back of the neck, below the crown."), (173, 95), (212, 48)),
    _told(
        "back",
        say("The upper side between neck and rump, with the feathers over the shoulders."),
        (226, 136),
        (262, 74),
    ),
    _told("wing", say("The closed wing on a standing bird, the spread one in flight."), (236, 158), (304, 98)),
    _told("rump", say("The lowest part of the back, just before the tail; mostly hidden until the bird flies."), (322, 181), (346, 122)),
    _told("tail", say("The long feathers at the end of the body: their length, their edge and their bars."), (352, 201), (396, 160)),
    _told("wing-tip", say("The ends of the longest wing feathers. See whether they reach past the tail."), (330, 199), (400, 218)),
    _told("vent", say("The feathers under the base of the tail."), (300, 209), (358, 258)),
    _told("wing-panel", say("A patch of the wing that differs from the rest, on the closed wing or in flight."), (258, 184), (310, 284)),
    _told("legs", say("Length, thickness and colour, and how far up they are bare."), (233, 262), (276, 316)),
    _told(
        "feet", say("The toes: their length, whether they are webbed, whether they reach past the tail in flight."), (196, 306), (152, 328)
    ),
    _told("belly", say("The underside between the legs and in front of them."), (196, 230), (116, 296)),
    _told("flank", say("The side of the body below the closed wing."), (194, 208), (78, 262)),
    _told("breast", say("The front of the body, below the neck."), (143, 180), (48, 230)),
    _told("neck", say("What joins head and body. How long it looks changes with how the bird stands."), (146, 138), (34, 192)),
    _told("throat", say("The front of the neck, just below the bill."), (113, 114), (24, 152)),
)
_WING: Final = (
    _told(
        "underwing",
        say("The wing seen from below, in flight or when the bird stretches. Look at its lining and at the longest feathers apart."),
        (196, 84),
        (150, 26),
        on_wing=True,
    ),
)
_ELSEWHERE: Final = (
    _told("whole", say("Size, outline, how it stands and how it moves: what is left when it is too far off for marks.")),
    _told("forewing", say("Of an insect: each wing of the front pair.")),
    _told("hindwing", say("Of an insect: each wing of the back pair.")),
    _told("antenna", say("Of an insect: each of the two feelers on the head.")),
    _told("shell", say("Of a mollusc or a tortoise: the hard case that it lives in.")),
    _told("egg", say("Size, shape, ground colour and markings. Look from afar: a nest is not to be visited for a drill.")),
)

GLOSSARY: Final[Mapping[str, PartTold]] = MappingProxyType({told.key: told for told in (*_BIRD, *_WING, *_ELSEWHERE)})
"""Every part that a catalogue may name by a word of ours, in the order of the numbers on the drawing.

What each part is called follows the trade (common practice, no source); its words and its place on the drawing are ours.
"""


def is_told(part: str) -> bool:
    """Say whether a part stands in the glossary with more to say than its word: not a free word, and not the whole.

    >>> is_told("bill"), is_told("whole"), is_told("gill edge")
    (True, False, False)
    """
    return part in GLOSSARY and part != "whole"
