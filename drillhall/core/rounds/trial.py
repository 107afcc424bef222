"""Draws the pictures of a trial: each form by its own throw, so that nothing but the pictures says what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from drillhall.core.placement import MOST_PICTURES
from drillhall.core.values import Candidate

if TYPE_CHECKING:
    from random import Random

LEAST_EACH: Final = 5
"""Five right running pass, and all five may be of one form."""

_NEVER: Final = datetime.min.replace(tzinfo=UTC)


def draw_trial(
    candidates: Sequence[Candidate], forms: tuple[int, int], *, dice: Random, most: int = MOST_PICTURES
) -> tuple[Candidate, ...]:
    """Return the pictures of a trial in order, each once.

    Parameters
    ----------
    candidates : the pictures of the pair that she may be shown.
    forms : ids of its two forms.
    dice : the same dice draw the same trial.
    most : how many pictures a trial has at most.

    Returns
    -------
    tuple of Candidate: those never seen before those seen longest ago, and her own last; it ends where the form thrown has none
    left. Empty where either form has less than five.
    """
    left = {form: _in_order([one for one in candidates if one.form_id == form], dice) for form in forms}
    if any(len(pictures) < LEAST_EACH for pictures in left.values()):
        return ()
    drawn: list[Candidate] = []
    while len(drawn) < most:
        form = forms[0] if dice.random() < 0.5 else forms[1]
        if not left[form]:
            break
        drawn.append(left[form].pop(0))
    return tuple(drawn)


def _in_order(pictures: Sequence[Candidate], dice: Random) -> list[Candidate]:
    return sorted(pictures, key=lambda one: (one.own, one.seen_at or _NEVER, dice.random()))
