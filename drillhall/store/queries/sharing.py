"""Whom a picture reaches beside its owner: the conditions, as SQL, that every query about pictures shares."""

from __future__ import annotations

from datetime import date

from sqlalchemy import ColumnElement, and_, exists, or_, select
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, PictureShareRow, RightsRow


def runs_on(day: date) -> ColumnElement[bool]:
    """Whether whatever permission the picture rests on still holds on a day; the query must have RightsRow."""
    return or_(RightsRow.may_until.is_(None), RightsRow.may_until >= day)


def shared_in_a_group_of(account_id: int) -> ColumnElement[bool]:
    """Whether the picture is shared with a group that somebody is in; in a paid group only what may be used for pay.

    The query must have PictureRow and RightsRow. Rights themselves (`may_group`, `may_until`) are asked beside it.
    """
    return exists(
        select(PictureShareRow.picture_id)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(
            PictureShareRow.picture_id == PictureRow.id,
            PictureShareRow.ended_at.is_(None),
            GroupRow.retired_at.is_(None),
            MembershipRow.account_id == account_id,
            MembershipRow.until.is_(None),
            or_(GroupRow.is_paid.is_(False), RightsRow.may_paid),
        )
        .correlate(PictureRow, RightsRow)
    )


def may_be_drilled_by(account_id: int, *, accepted: ColumnElement[bool], on: date) -> ColumnElement[bool]:
    """Whether somebody may be shown a picture in a drill: it is hers, or accepted or shared with her and its rights allow it.

    `accepted` says whether the catalogue that asks holds it. The query must have PictureRow and RightsRow.
    """
    is_hers = PictureRow.owner_id.is_not_distinct_from(account_id)  # never unknown, so that its opposite is none either
    to_others = and_(RightsRow.may_group, or_(accepted, shared_in_a_group_of(account_id)))
    return and_(PictureRow.retired_at.is_(None), runs_on(on), or_(is_hers, to_others))


def is_shared_with(db: Session, account_id: int, picture_id: int) -> bool:
    """Whether a picture is shared with a group that somebody is in."""
    query = (
        select(PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.id == picture_id, shared_in_a_group_of(account_id))
    )
    return db.scalar(query) is not None


def is_offered_to(db: Session, account_id: int, picture_id: int) -> bool:
    """Whether a picture is offered, and not yet decided on, to a catalogue in use of which somebody is steward."""
    query = (
        select(PictureOfferRow.id)
        .join(CatalogueRow, CatalogueRow.id == PictureOfferRow.catalogue_id)
        .join(StewardRow, StewardRow.catalogue_id == CatalogueRow.id)
        .where(PictureOfferRow.picture_id == picture_id, PictureOfferRow.decision == "", CatalogueRow.retired_at.is_(None))
        .where(StewardRow.account_id == account_id)
    )
    return db.scalar(query.limit(1)) is not None
