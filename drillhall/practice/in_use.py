"""Tells which groups use a pair set, or any set of a catalogue, to whoever would take it out of use."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import exists, or_, select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.seasons import AssignmentRow, OutingRow


@dataclass(frozen=True, slots=True)
class UsedBy:
    """The groups of whoever asks that use a set now, (key, title) by title, and whether groups that she may not know of do so too."""

    hers: tuple[tuple[str, str], ...]
    others: bool

    @property
    def is_used(self) -> bool:
        """Whether any group uses it."""
        return bool(self.hers) or self.others


def groups_using(db: Session, catalogue_id: int, *, person_id: int, on: date, set_key: str | None = None) -> UsedBy:
    """Return which groups are given a set of a catalogue still, or go out for it, the set in use or not; without a key, any set of it.

    A group is named to those who are in it alone; of others it is said only that there are some.
    """
    is_meant = [PairSetRow.catalogue_id == catalogue_id] + ([PairSetRow.key == set_key] if set_key is not None else [])
    sets = select(PairSetRow.id).where(*is_meant)
    is_in = exists().where(MembershipRow.group_id == GroupRow.id, MembershipRow.account_id == person_id, MembershipRow.until.is_(None))
    given = AssignmentRow.pair_set_id.in_(sets) & or_(AssignmentRow.for_day.is_(None), AssignmentRow.for_day >= on)
    goes = OutingRow.pair_set_id.in_(sets) & (OutingRow.day >= on)
    uses = or_(
        exists().where(AssignmentRow.group_id == GroupRow.id, AssignmentRow.retired_at.is_(None), given),
        exists().where(OutingRow.group_id == GroupRow.id, OutingRow.retired_at.is_(None), goes),
    )
    query = select(GroupRow.public_id, GroupRow.title, is_in).where(GroupRow.retired_at.is_(None), uses)
    found = db.execute(query.order_by(GroupRow.title, GroupRow.id)).all()
    return UsedBy(tuple((key, title) for key, title, known in found if known), any(not known for _, _, known in found))
