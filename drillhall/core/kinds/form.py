"""The question which of the two it is: the choices are the pair's forms, first form first, and where it is offered *neither*."""

from __future__ import annotations

from typing import Final

from drillhall.core.values import NEITHER, Ask, Pair
from drillhall.errors import BadAnswer
from drillhall.words import say

KEY: Final = "form"
takes_sure: Final = True


def make_ask(pair: Pair, form_id: int, *, neither: bool) -> Ask:
    """Ask which form a picture of `form_id` shows; for a form outside the pair, *neither* is right and must be offered."""
    key = form_id if form_id in (pair.first.id, pair.second.id) else NEITHER
    choices = (pair.first.id, pair.second.id, NEITHER) if neither else (pair.first.id, pair.second.id)
    if key not in choices:
        raise ValueError(f"form {form_id} is none of pair {pair.id}, and neither is not offered")
    return Ask(kind=KEY, choices=tuple(str(choice) for choice in choices), key=str(key))


def validate(ask: Ask, said: str) -> None:
    """Refuse an answer that was not among the choices."""
    if said not in ask.choices:
        raise BadAnswer(say("That form was not among the choices: answer with one of those shown."), field="said")


def is_right(ask: Ask, said: str) -> bool:
    """Say whether the form that was named is the one in the picture."""
    validate(ask, said)
    return said == ask.key


def key_in_force(ask: Ask, form_id: int | None) -> str | None:
    """Return what is right of an ask now that its picture is said to show a form, or None where nothing that was offered is.

    Parameters
    ----------
    form_id : the form in force; None where nobody can say which it is.

    >>> key_in_force(Ask(kind=KEY, choices=("3", "5"), key="3"), 5)
    '5'
    >>> key_in_force(Ask(kind=KEY, choices=("3", "5"), key="3"), 8) is None
    True
    >>> key_in_force(Ask(kind=KEY, choices=("3", "5", "0"), key="3"), 8)
    '0'
    """
    if form_id is None:
        return None
    return next((choice for choice in (str(form_id), str(NEITHER)) if choice in ask.choices), None)
