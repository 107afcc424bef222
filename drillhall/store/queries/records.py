"""What is read for learning records: the answers that a group may know, one by one."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.store.queries.log import counts

AT_ONCE = 1000
"""Rows that are held at a time."""


def known_answers(
    db: Session, group_id: int, account_ids: Collection[int], pair_ids: Collection[int]
) -> Iterator[tuple[AnswerRow, ShowingRow, RoundRow, int | None]]:
    """Yield the answers of some learners of a group on some pairs since each joined, in the order in which they were given.

    Each comes with its showing, round and the form in force of its picture; of repeats the first counts.
    """
    query = (
        select(AnswerRow, ShowingRow, RoundRow, PictureRow.form_id)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .join(MembershipRow, MembershipRow.account_id == AnswerRow.account_id)
        .where(MembershipRow.group_id == group_id, MembershipRow.until.is_(None), AnswerRow.at >= MembershipRow.since)
        .where(AnswerRow.account_id.in_(account_ids), RoundRow.pair_id.in_(pair_ids), counts())
        .order_by(AnswerRow.at, AnswerRow.id)
        .execution_options(yield_per=AT_ONCE)
    )
    yield from db.execute(query)
