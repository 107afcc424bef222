"""Decides at receiving whether a picture was fresh to a learner: by what she has seen before, not by when a drill was planned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Row, func, select
from sqlalchemy.orm import Session

from drillhall.core.freshness import NewSight, SeenBefore, judge_sights, wants_begun
from drillhall.core.rounds.choose import FRESH_AFTER
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.store.queries import batch, log
from drillhall.store.queries.sights import seen_beside


def judge_new(
    db: Session, account_id: int, new: Mapping[int, Sequence[NewSight]], *, sights: Mapping[int, Row[Any]], own: Collection[int]
) -> tuple[dict[int, tuple[bool, bool]], set[int]]:
    """Say of showings answered for the first time whether each was first sight, and whether it was fresh.

    Parameters
    ----------
    new : by picture.
    sights : her sights of these pictures as they are stored, the new ones left out.
    own : those of the pictures that are hers.

    Returns
    -------
    Showing → (first sight, fresh), and the pictures for which the log must be read.
    """
    before = {picture: SeenBefore(row.first_at, row.last_at) for picture, row in sights.items()}
    unsettled = [one for one, seen in new.items() if one not in own and wants_begun(before.get(one), min(sight.at for sight in seen))]
    for picture, begun_at in _begun(db, account_id, unsettled, before).items():
        before[picture] = replace(before[picture], begun_at=begun_at)
    found: dict[int, tuple[bool, bool]] = {}
    unread: set[int] = set()
    for picture, seen in new.items():
        judged = judge_sights(before.get(picture), seen, own=picture in own)
        if judged is None:
            unread.add(picture)
        else:
            found |= judged
    return found, unread


def _begun(db: Session, account_id: int, pictures: Collection[int], before: Mapping[int, SeenBefore]) -> dict[int, datetime]:
    """Return of some pictures when the learner first answered the showing of each that she answered last."""
    if not pictures:
        return {}
    found: dict[int, datetime] = {}
    for row in batch.begun_of_answers_at(db, account_id, {before[picture].last_at for picture in pictures}):
        for picture in {row.picture_id, row.beside_id}.intersection(pictures):
            found[picture] = max(row.begun_at, found.get(picture, row.begun_at))
    return found


def refold_freshness(db: Session, account_id: int, picture_ids: Iterable[int], *, new: Mapping[int, int]) -> set[int]:
    """Set first sight and freshness of every answered showing of some pictures; return the pairs of those that are counted otherwise now.

    `new` is how many answers of each showing are not counted yet: one that has no others is counted by what is set here.

    Two drills planned before either was played may show the same picture: of its showings the one answered first is first sight. A
    picture is fresh at first sight, and again once she has not seen it for 60 days; a picture of her own never is.
    """
    wanted, one = set(picture_ids), ShowingRow
    query = (
        select(one.id, one.picture_id, one.first_sight, one.fresh, RoundRow.pair_id, PictureRow.owner_id)
        .add_columns(func.min(AnswerRow.at).label("seen_at"), func.count().label("answers"))
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .where(ShowingRow.account_id == account_id, ShowingRow.picture_id.in_(wanted))
        .group_by(ShowingRow.id, RoundRow.pair_id, PictureRow.owner_id)
    )
    sights: dict[int, list[Row[Any]]] = defaultdict(list)
    for row in db.execute(query):
        sights[row.picture_id].append(row)
    elsewhere: dict[int, list[datetime]] = defaultdict(list)
    for picture_id, first, last, _ in log.rarity_sights(db, account_id, sights):
        elsewhere[picture_id] += [first, last]
    for picture_id, at in seen_beside(db, account_id, wanted):
        elsewhere[picture_id].append(at)
    changed: set[int] = set()
    other: dict[int, tuple[bool, bool]] = {}
    for picture_id, seen in sights.items():
        others = elsewhere[picture_id]
        before: datetime | None = None
        for row in sorted(seen, key=lambda row: (row.seen_at, row.id)):
            at, own = row.seen_at, row.owner_id == account_id
            before = _latest_before(at, [before, *others])
            first_sight = before is None and not own
            fresh = first_sight or (not own and before is not None and at - before >= FRESH_AFTER)
            if (row.first_sight, row.fresh) != (first_sight, fresh):
                other[row.id] = (first_sight, fresh)
                if row.answers > new.get(row.id, 0):
                    changed.add(row.pair_id)
            before = at
    batch.keep_freshness(db, other)
    return changed


def _latest_before(at: datetime, sights: Iterable[datetime | None]) -> datetime | None:
    return max((one for one in sights if one is not None and one < at), default=None)
