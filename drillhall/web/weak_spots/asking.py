"""Reads which answers are asked for from the address."""

from __future__ import annotations

from flask import request

from drillhall.core.terms import ORIENTATIONS
from drillhall.core.values import Rendition
from drillhall.errors import Invalid
from drillhall.practice.weak_spots.beside import BY
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.web import forms

LONGEST = 60


def asked() -> Chosen:
    """Return which answers are asked for; raise Invalid for what cannot be asked."""
    return Chosen(
        assignment_id=_number("assignment", "The assignment"),
        stage=_number("stage", "The stage"),
        sex=_word("sex", "The sex shown"),
        life_stage=_word("life_stage", "The age shown"),
        orientation=_one_of("orientation", "The orientation", tuple(ORIENTATIONS)),
        pose=_word("pose", "The pose"),
        rendition=_one_of("rendition", "How it was shown", tuple(Rendition)),
        fresh=_one_of("fresh", "Whether fresh pictures alone count", ("yes",)) == "yes",
    )


def asked_by() -> str:
    """Return by what answers are to be laid side by side, by sex where nothing is said; raise Invalid for what cannot be."""
    return _one_of("by", "What to lay side by side", tuple(BY)) or next(iter(BY))


def _number(field: str, name: str) -> int | None:
    said = request.args.get(field, "").strip()
    if not said:
        return None
    if not (said.isascii() and said.isdecimal()) or int(said) > forms.LARGEST_ID:
        raise Invalid(f"{name} is given as a number. Choose one of the list.", field=field)
    return int(said)


def _one_of(field: str, name: str, known: tuple[str, ...]) -> str:
    said = request.args.get(field, "").strip()
    if said and said not in known:
        raise Invalid(f"{name} must be one of: {', '.join(known)}.", field=field)
    return said


def _word(field: str, name: str) -> str:
    said = request.args.get(field, "").strip()
    if len(said) > LONGEST:
        raise Invalid(f"{name} is too long to be one. Choose one of the list.", field=field)
    return said
