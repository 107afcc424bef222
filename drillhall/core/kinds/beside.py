"""The question which of two pictures side by side shows a form: one of either form of a pair, told apart by their places."""

from __future__ import annotations

from typing import Final

from drillhall.core.values import Ask
from drillhall.errors import BadAnswer
from drillhall.words import say

KEY: Final = "beside"
takes_sure: Final = False
"""How sure she is of a forced choice is another chance than of one picture, so the words that are held against it do not fit."""

PLACES: Final = ("1", "2")
"""The picture on the left or above, and the one on the right or below."""


def make_ask(*, asked_stands_first: bool) -> Ask:
    """Ask which of two pictures shows the form asked for."""
    return Ask(kind=KEY, choices=PLACES, key=PLACES[0 if asked_stands_first else 1])


def validate(ask: Ask, said: str) -> None:
    """Refuse an answer that names neither place."""
    if said not in ask.choices:
        raise BadAnswer(say("That picture was not among the choices: answer with 1 or 2."), field="said")


def is_right(ask: Ask, said: str) -> bool:
    """Say whether the picture that was named shows the form asked for."""
    validate(ask, said)
    return said == ask.key


def key_in_force(ask: Ask, *, planned: tuple[int, int], shown: tuple[int | None, int | None]) -> str | None:
    """Return what is right now that the two pictures are said to show other forms, or None where no answer is.

    Parameters
    ----------
    planned : the form asked for, and the pair's other form.
    shown : what is said now of the picture planned for either; None where nobody can say.

    >>> ask = make_ask(asked_stands_first=True)
    >>> [key_in_force(ask, planned=(3, 5), shown=shown) for shown in ((3, 5), (5, 3), (3, 3), (3, 8), (None, 5))]
    ['1', '2', None, None, None]
    """
    if shown == planned:
        return ask.key
    return next(place for place in ask.choices if place != ask.key) if shown == planned[::-1] else None
