"""Reads which answers are asked for from the address."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from flask import request

from drillhall.core import term_words
from drillhall.core.terms import ORIENTATIONS
from drillhall.core.values import Rendition
from drillhall.errors import Invalid
from drillhall.practice.weak_spots.beside import BY
from drillhall.practice.weak_spots.counting import Choices, Chosen
from drillhall.practice.weak_spots.naming import RENDITIONS, in_pairs
from drillhall.web import forms
from drillhall.words import Said, say

LONGEST = 60
SEEN_FROM: Final[Mapping[str, Said]] = {
    "left": say("the left"),
    "right": say("the right"),
    "lateral": say("the side"),
    "anterior": say("the front"),
    "posterior": say("behind"),
    "dorsal": say("above"),
    "ventral": say("below"),
}
"""The sides that may be asked for, in words that follow *seen from*."""


def asked() -> Chosen:
    """Return which answers are asked for; raise Invalid for what cannot be asked."""
    return Chosen(
        assignment_id=_number("assignment", say("The assignment")),
        stage=_number("stage", say("The stage")),
        sex=_word("sex", say("The sex shown")),
        life_stage=_word("life_stage", say("The age shown")),
        orientation=_one_of("orientation", say("The orientation"), tuple(ORIENTATIONS)),
        pose=_word("pose", say("The pose")),
        rendition=_one_of("rendition", say("How it was shown"), tuple(Rendition)),
        fresh=_one_of("fresh", say("Whether fresh pictures alone count"), ("yes",)) == "yes",
    )


def asked_by() -> str:
    """Return by what answers are to be laid side by side, by sex where nothing is said; raise Invalid for what cannot be."""
    return _one_of("by", say("What to lay side by side"), tuple(BY)) or next(iter(BY))


def offered(choices: Choices) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return (value, word) of everything that may be chosen by a word."""
    return {
        "sexes": in_pairs(choices.sexes, term_words.SEXES),
        "life_stages": in_pairs(choices.life_stages, term_words.LIFE_STAGES),
        "poses": in_pairs(choices.poses, term_words.POSES),
        "orientations": tuple(SEEN_FROM.items()),
        "renditions": tuple(RENDITIONS.items()),
    }


def _number(field: str, name: str) -> int | None:
    said = request.args.get(field, "").strip()
    if not said:
        return None
    if not (said.isascii() and said.isdecimal()) or int(said) > forms.LARGEST_ID:
        raise Invalid(say("{name} is given as a number. Choose one of the list.", name=name), field=field)
    return int(said)


def _one_of(field: str, name: str, known: tuple[str, ...]) -> str:
    said = request.args.get(field, "").strip()
    if said and said not in known:
        raise Invalid(say("{name} must be one of: {choices}.", name=name, choices=", ".join(known)), field=field)
    return said


def _word(field: str, name: str) -> str:
    said = request.args.get(field, "").strip()
    if len(said) > LONGEST:
        raise Invalid(say("{name} is too long to be one. Choose one of the list.", name=name), field=field)
    return said
