"""Plans a rarity drill: a warm-up at even odds with feedback, then the odds of the field without any."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from drillhall.errors import Invalid
from drillhall.words import say

if TYPE_CHECKING:
    from random import Random

WARM_UP: Final = 12
LEAST_RARE: Final = 2
"""Without two rare ones among the real odds nothing could be said of how often she misses them."""


@dataclass(frozen=True, slots=True)
class RarityShowing:
    """One showing of a rarity drill: which form, and whether she is told afterwards what it was."""

    form_id: int
    feedback: bool


def plan_rarity(*, rare_id: int, common_id: int, one_in: int, showings: int, dice: Random) -> tuple[RarityShowing, ...]:
    """Plan a drill in which one form is as rare as in the field.

    The warm-up of 12 shows both forms equally often, in thrown order. Afterwards each showing is rare by its own throw, so that nobody
    can count along; at least two are. Sensitivity and bias are then reported of the second part alone, and apart from each other.

    Parameters
    ----------
    rare_id, common_id : the two forms.
    one_in : one showing in so many is rare, 2 to 100.
    showings : of the second part, at least `one_in` and at most 200.
    dice : the same dice give the same drill.

    Raises
    ------
    Invalid: odds or length out of bounds.

    Source
    ------
    What is rare is missed more often (Wolfe, Horowitz and Kenner 2005, Nature 435:439, from memory); bursts at even odds with feedback
    before stretches at real odds without it undo most of that, since the criterion is kept (Wolfe et al. 2007, J Exp Psychol Gen
    136:623, from memory).

    >>> from random import Random
    >>> drill = plan_rarity(rare_id=1, common_id=2, one_in=20, showings=40, dice=Random(1))
    >>> len(drill), sum(one.feedback for one in drill)
    (52, 12)
    """
    if not 2 <= one_in <= 100:
        raise Invalid(say("One in {one_in} is no odds for a rarity drill: choose from 2 to 100.", one_in=one_in), field="one_in")
    if not one_in <= showings <= 200:
        raise Invalid(
            say("A rarity drill at one in {one_in} has {one_in} to 200 showings, not {showings}.", one_in=one_in, showings=showings),
            field="showings",
        )
    warm = [rare_id, common_id] * (WARM_UP // 2)
    dice.shuffle(warm)
    rare = [dice.random() < 1 / one_in for _ in range(showings)]
    while sum(rare) < LEAST_RARE:
        rare[dice.randrange(showings)] = True
    real = [rare_id if is_rare else common_id for is_rare in rare]
    return (*(RarityShowing(form_id, True) for form_id in warm), *(RarityShowing(form_id, False) for form_id in real))
