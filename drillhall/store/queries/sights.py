"""What is read of a learner's sights: which pictures her drills showed her, alone or beside another, when, and how she told two."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import cache
from typing import Any, Final, NamedTuple

from sqlalchemy import Insert, func, select
from sqlalchemy.orm import Session

from drillhall.store.models.practice import AnswerRow, BesideTallyRow, ShowingRow, SightRow
from drillhall.store.queries.many import dialect_of, inserting, send

_PLACES: Final = (ShowingRow.picture_id, ShowingRow.beside_id)


class Seen(NamedTuple):
    """A learner's sights of a picture in her drills."""

    picture_id: int
    first_at: datetime
    last_at: datetime
    times: int


def pictures_shown(db: Session, account_id: int) -> set[int]:
    """Return every picture in a learner's drills."""
    found: set[int] = set()
    for place in _PLACES:
        found.update(one for one in db.scalars(select(place).where(ShowingRow.account_id == account_id).distinct()) if one is not None)
    return found


def seen_in_drills(db: Session, account_id: int, picture_ids: Iterable[int]) -> list[Seen]:
    """Return a learner's sights of some pictures; one that stood now first, now beside another comes twice."""
    wanted, found = list(picture_ids), []
    for place in _PLACES:
        query = (
            select(place, func.min(AnswerRow.at), func.max(AnswerRow.at), func.count(func.distinct(ShowingRow.id)))
            .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
            .where(ShowingRow.account_id == account_id, place.in_(wanted))
            .group_by(place)
        )
        found += [Seen(picture_id, first, last, int(times)) for picture_id, first, last, times in db.execute(query) if picture_id]
    return found


def seen_beside(db: Session, account_id: int, picture_ids: Iterable[int]) -> list[tuple[int, datetime]]:
    """Return (picture, when it was first answered) for each showing in which one of some pictures stood beside another."""
    query = (
        select(ShowingRow.beside_id, func.min(AnswerRow.at))
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(ShowingRow.account_id == account_id, ShowingRow.beside_id.in_(list(picture_ids)))
        .group_by(ShowingRow.id, ShowingRow.beside_id)
    )
    return [(picture_id, at) for picture_id, at in db.execute(query) if picture_id is not None]


def beside_sums(db: Session, account_id: int) -> dict[int, tuple[int, int]]:
    """Return (missed, shown) of a learner's questions with two pictures, by pair."""
    sums = func.sum(BesideTallyRow.missed), func.sum(BesideTallyRow.shown)
    query = select(BesideTallyRow.pair_id, *sums).where(BesideTallyRow.account_id == account_id).group_by(BesideTallyRow.pair_id)
    return {pair_id: (int(missed), int(shown)) for pair_id, missed, shown in db.execute(query)}


def keep(db: Session, told: list[dict[str, Any]]) -> None:
    """Store sights, each a row of the table, in place of those of the same learner and picture."""
    send(db, _keeping(dialect_of(db)), told)


@cache
def _keeping(dialect: str) -> Insert:
    new = inserting(SightRow, dialect)
    later = {name: new.excluded[name] for name in ("first_at", "last_at", "times")}
    return new.on_conflict_do_update(index_elements=["account_id", "picture_id"], set_=later)
