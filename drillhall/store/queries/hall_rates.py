"""How often everybody has missed what: summed over all tallies, and as it was kept."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from drillhall.core.values import Misses, Rendition
from drillhall.store.models.practice import HallRateRow, TallyRow
from drillhall.store.queries.given import PAIRS, ask


def sum_misses(db: Session, *, since_week: int) -> list[tuple[int, int, int, int]]:
    """Return (pair, form shown, missed, shown) over all learners, showings with two choices as taken only."""
    missed = func.sum(TallyRow.count).filter(TallyRow.said_form_id != TallyRow.shown_form_id)
    query = (
        select(TallyRow.pair_id, TallyRow.shown_form_id, func.coalesce(missed, 0), func.sum(TallyRow.count))
        .where(TallyRow.choices == 2, TallyRow.week >= since_week, TallyRow.rendition == Rendition.AS_TAKEN.value)
        .group_by(TallyRow.pair_id, TallyRow.shown_form_id)
    )
    return [(pair_id, form_id, int(wrong), int(shown)) for pair_id, form_id, wrong, shown in db.execute(query)]


def kept_misses(db: Session, pair_ids: Iterable[int]) -> dict[tuple[int, int], Misses]:
    """Return the misses of some pairs by pair and form shown, as they were last summed."""
    kept = ask(db, _kept_misses(), pair_ids=list(pair_ids))
    return {(pair_id, form_id): Misses(missed, shown) for pair_id, form_id, missed, shown in kept}


@cache
def _kept_misses() -> Select[int, int, int, int]:
    cell = (HallRateRow.pair_id, HallRateRow.shown_form_id, HallRateRow.missed, HallRateRow.shown)
    return select(*cell).where(HallRateRow.pair_id.in_(PAIRS))
