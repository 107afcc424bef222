"""Says what of a stored drill is still to be shown: a round that its miss has ended is over, and spare ones take the time it left."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy.orm import Session

from drillhall.core.kinds import form
from drillhall.core.rounds.misses import AfterMiss, RoundSoFar, left_of_drill
from drillhall.core.values import Rendition
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import log


def pictures_left(db: Session, account_id: int, drill_id: str, *, today: date) -> int:
    """Return how many pictures of a drill are still to be answered; a round left out for a withdrawn picture has none."""
    rounds, showings, answers = log.rounds_of(db, drill_id), log.showings_of(db, drill_id), log.answers_of(db, drill_id)
    gone = reading.withdrawn(db, account_id, [showing.id for showing in showings], on=today)
    begun = {row.showing_id for row in answers}
    left_out = {showing.round_id for showing in showings if showing.id in gone and showing.id not in begun}
    return len(left_to_show([logged for logged in rounds if logged.id not in left_out], showings, answers))


def left_to_show(rounds: Sequence[RoundRow], showings: Sequence[ShowingRow], answers: Sequence[AnswerRow]) -> frozenset[int]:
    """Return the showings that are still to be shown, as things stand.

    Parameters
    ----------
    rounds : those of the drill that are played, in order.
    showings : every showing of the drill, in order.
    answers : every answer given to them, the earliest first; of repeats the first counts.
    """
    said: dict[tuple[int, int], str] = {}
    for row in answers:
        said.setdefault((row.showing_id, row.ask), row.said)
    of: Mapping[int, list[ShowingRow]] = defaultdict(list)
    for showing in showings:
        of[showing.round_id].append(showing)
    left = left_of_drill([_so_far(logged, of[logged.id], said) for logged in rounds])
    return frozenset(
        showing.id
        for logged, of_round in zip(rounds, left, strict=True)
        for showing, is_left in zip(of[logged.id], of_round, strict=True)
        if is_left
    )


def is_rated(showing: ShowingRow) -> bool:
    """Whether an answer to a showing is rated: thirds and renditions are extras."""
    return not showing.third and showing.rendition == Rendition.AS_TAKEN.value


def _so_far(logged: RoundRow, showings: Sequence[ShowingRow], said: Mapping[tuple[int, int], str]) -> RoundSoFar:
    return RoundSoFar(
        answered=tuple(all((showing.id, place) in said for place in range(len(showing.asks))) for showing in showings),
        missed=any(_is_miss(showing, said) for showing in showings if is_rated(showing)),
        after_miss=AfterMiss.END if logged.ends_at_miss else AfterMiss.FINISH,
        spare=logged.spare,
    )


def _is_miss(showing: ShowingRow, said: Mapping[tuple[int, int], str]) -> bool:
    return any(
        ask["kind"] == form.KEY and said.get((showing.id, place), ask["key"]) != ask["key"] for place, ask in enumerate(showing.asks)
    )
