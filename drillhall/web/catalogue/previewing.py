"""A drill of a pair or a set as a learner would get it, for the steward to look through; nothing of it is kept."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Final

from flask import render_template, request

from drillhall.catalogues.editing import things
from drillhall.catalogues.editing.changing import Opened
from drillhall.core.stages import StagePictures
from drillhall.errors import NotFound
from drillhall.practice.packets import RoundView
from drillhall.practice.previewing import preview_rounds
from drillhall.web.catalogue.room import Page, blueprint, her_day, look
from drillhall.web.session import now, store, the_person
from drillhall.words import say

Wanted = Sequence[tuple[str, StagePictures]]

MOST_PAIRS: Final = 12
"""Pairs looked through at a time: what a long drill holds."""


@blueprint.get("/<key>/preview")
def preview(key: str) -> Page:
    """Show rounds of a pair, a set, or of every pair; the same throw of the dice gives the same rounds."""
    opened, throw = look(key), _throw()
    every = _wanted(opened)
    rounds = _rounds(opened, every[:MOST_PAIRS], Random(f"{key} {throw}"))
    told = {"left_out": min(len(every), MOST_PAIRS) - len(rounds), "more": max(0, len(every) - MOST_PAIRS)}
    again = {**request.args.to_dict(), "throw": throw + 1}
    return render_template("catalogue/preview.html", key=key, said=opened.said, rounds=rounds, again=again, **told)


def _rounds(opened: Opened, wanted: Wanted, dice: Random) -> tuple[RoundView, ...]:
    with store().look() as db:
        return preview_rounds(db, the_person().id, opened.id, wanted, on=her_day(), now=now(), dice=dice)


def _wanted(opened: Opened) -> Wanted:
    """Return the pairs to look through, each with the pictures that its stage holds: without a set, any."""
    if pair_key := request.args.get("pair"):
        return [(things.the_thing(opened.said.pairs, pair_key, "pair").key, StagePictures())]
    if set_key := request.args.get("set"):
        chosen = things.the_thing(opened.said.sets, set_key, "pair set")
        held = [(stage, StagePictures(frozenset(stage.poses), frozenset(stage.distances))) for stage in chosen.stages]
        return [(":".join(forms), pictures) for stage, pictures in held for forms in stage.pairs]
    return [(pair.key, StagePictures()) for pair in opened.said.pairs]


def _throw() -> int:
    typed = request.args.get("throw", "0")
    if not (typed.isascii() and typed.isdigit() and len(typed) < 7):
        raise NotFound(say("There is no such throw of the dice."))
    return int(typed)
