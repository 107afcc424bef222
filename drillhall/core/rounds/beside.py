"""Adds two pictures side by side to a round of a pair that is not steady yet, now and then: contrast teaches, and nothing is rated."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Final

from drillhall.core.clusters import are_together
from drillhall.core.kinds import beside as beside_kind
from drillhall.core.rounds.choose import STILL_IN_MIND
from drillhall.core.values import Candidate, PairLore, PlannedShowing, Standing

if TYPE_CHECKING:
    from random import Random

BESIDE_SHARE: Final = 1 / 6
"""Of the rounds of a pair that she has met and does not hold yet, so many end on two pictures side by side."""

MOST_COMPARED: Final = 24
"""Pictures of a form among which like ones are looked for."""


def may_stand_beside(settled: Standing, *, rounds_before: int) -> bool:
    """Say whether a round may end on two pictures side by side.

    Not in a pair's first round, since both forms have just stood side by side when it was met; not once the pair is steady, since
    outdoors the other form hardly ever stands beside.
    """
    return settled in (Standing.UNMET, Standing.SHAKY) and rounds_before > 0


def find_beside(
    lore: PairLore, candidates: Sequence[Candidate], taken: Collection[int], *, now: datetime, dice: Random
) -> PlannedShowing | None:
    """Throw whether a round ends on two pictures side by side, and choose them.

    It comes last, so that it helps with none of the answers that are rated, and is itself no part of the rating: who chooses
    between two pictures is right more often than who names one, by √2 in d′, and the pair would come back too late.

    Parameters
    ----------
    lore : the pair's.
    candidates : as for the round; her own pictures are left out, for she knows which form they show.
    taken : pictures of the round itself.
    now : the moment of planning; pictures seen within a day are left out, and so are those never seen, whose first sight would be
        spent on what counts for nothing.
    dice : the same dice choose the same.

    Returns
    -------
    PlannedShowing of the form asked for, with the other picture beside it: as like in orientation, then setting, as may be, and
    never two of one series or scene; None where it is not thrown or no two pictures fit.
    """
    if dice.random() >= BESIDE_SHARE:
        return None
    fit = [one for one in candidates if one.picture_id not in taken and not one.own]
    firsts, seconds = (_compared(fit, form.id, now, dice) for form in (lore.pair.first, lore.pair.second))
    couples = [(one, other) for one in firsts for other in seconds if not _of_one_cluster(one, other)]
    if not couples:
        return None
    couple = min(couples, key=lambda both: (both[0].orientation != both[1].orientation, both[0].setting != both[1].setting))
    asked, beside = couple if dice.random() < 0.5 else couple[::-1]
    return PlannedShowing(
        picture_id=asked.picture_id,
        form_id=asked.form_id,
        asks=(beside_kind.make_ask(asked_stands_first=dice.random() < 0.5),),
        beside_id=beside.picture_id,
    )


def _compared(fit: Sequence[Candidate], form_id: int, now: datetime, dice: Random) -> list[Candidate]:
    able = [one for one in fit if one.form_id == form_id and one.seen_at is not None and now - one.seen_at >= STILL_IN_MIND]
    return dice.sample(able, min(len(able), MOST_COMPARED))


def _of_one_cluster(one: Candidate, other: Candidate) -> bool:
    return one.scene is not None and other.scene is not None and are_together(one.scene, other.scene)
