"""Reads which picture of a wall is asked for, and renders it: the same page for a group's leader and for a catalogue's steward."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import render_template, request, url_for

from drillhall.errors import NotFound
from drillhall.practice.walling import OnTheWall
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class Asked:
    """Which picture of a wall, in which order, and whether its answer."""

    throw: int
    place: int
    told: bool


def read_asked() -> Asked:
    """Return what the address asks for; raises NotFound where a number is none."""
    return Asked(throw=_number("throw"), place=_number("at"), told="told" in request.args)


def render_wall(shown: OnTheWall, asked: Asked, endpoint: str, out: str, **where: Any) -> str:
    """Render one picture; the answer is another page, so that nothing of it lies in the source before it is asked for."""

    def at(place: int, *, told: bool) -> str:
        return url_for(endpoint, **where, throw=asked.throw, at=place, told="yes" if told else None)

    is_last = shown.place + 1 >= shown.pictures
    if not asked.told:
        on, back = at(shown.place, told=True), at(shown.place - 1, told=True) if shown.place else ""
    else:
        on, back = "" if is_last else at(shown.place + 1, told=False), at(shown.place, told=False)
    again = url_for(endpoint, **where, throw=asked.throw + 1)
    return render_template("parts/wall.html", shown=shown, on=on, back=back, again=again, out=out)


def _number(name: str) -> int:
    typed = request.args.get(name, "0")
    if not (typed.isascii() and typed.isdigit() and len(typed) < 7):
        raise NotFound(say("There is no such picture on the wall."))
    return int(typed)
