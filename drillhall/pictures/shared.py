"""Lists what is shared with a group, page by page, and what of somebody's still is with groups that she has left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import Select, exists, func, select
from sqlalchemy.orm import Session

from drillhall.core.rights import licence_name, maker_line
from drillhall.core.term_words import told_alt
from drillhall.core.values import Form, Use
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow, RightsRow
from drillhall.store.queries import pictures as queries
from drillhall.store.queries.sharing import runs_on
from drillhall.words import speaking

A_PAGE: Final = 24
"""How many pictures of a group a page holds."""


@dataclass(frozen=True, slots=True)
class SharedPicture:
    """A picture on a group's page: its small size, what it shows, whose it is and its licence; `is_own`: of whoever looks."""

    public_id: str
    recipe: str
    width_px: int
    height_px: int
    alt: str
    form: Form | None
    owner: str
    is_own: bool
    credit: str
    licence: str
    licence_url: str


@dataclass(frozen=True, slots=True)
class SharedPictures:
    """A page of what is shared with a group, how many pictures that is in all, and how many of them whoever looks has shared."""

    pictures: tuple[SharedPicture, ...]
    total: int
    page: int
    by_her: int
    size: int = A_PAGE

    @property
    def has_more(self) -> bool:
        """Whether another page follows."""
        return (self.page + 1) * self.size < self.total


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A group that somebody is in no more, and how many pictures of hers are shared with it still."""

    group: str
    public_id: str
    pictures: int


def list_shared(db: Session, group_id: int, *, viewer_id: int, on: date, page: int = 0, size: int = A_PAGE) -> SharedPictures:
    """Return a page of the pictures that the people of a group are shown because they are shared with it, the latest first.

    A page beyond the last is the last.
    """
    query = _shown(group_id, on)
    total = db.scalar(query.with_only_columns(func.count())) or 0
    page = min(page, max(0, total - 1) // size)
    found = db.execute(
        query.with_only_columns(PictureRow, RightsRow, AccountRow.name)
        .order_by(PictureShareRow.shared_at.desc(), PictureRow.id.desc())
        .offset(page * size)
        .limit(size)
    ).all()
    files = queries.served_files(db, [picture.id for picture, _, _ in found])
    forms = queries.forms_by_id(db, [picture.form_id for picture, _, _ in found if picture.form_id is not None], speaking())
    shown = []
    for picture, row, owner in found:
        file, named, rights = files[picture.id][0], forms.get(picture.form_id or 0), queries.rights_of(row)
        shown.append(
            SharedPicture(
                public_id=picture.public_id,
                recipe=file.recipe,
                width_px=file.width_px,
                height_px=file.height_px,
                alt=told_alt(picture.alt),
                form=queries.form_of(*named) if named else None,
                owner=owner or "",
                is_own=picture.owner_id == viewer_id,
                credit=maker_line(rights, picture.medium),
                licence=licence_name(rights),
                licence_url=rights.licence.url if rights.licence else "",
            )
        )
    by_her = len(_shares_of(db, viewer_id, group_id))
    return SharedPictures(tuple(shown), total, page, by_her, size)


def end_shares(db: Session, *, owner_id: int, group_id: int, at: datetime) -> int:
    """Stop sharing every picture of somebody's with a group, whether or not she is still in it, and return how many there were.

    Nobody there is shown them from now on; what was answered on them stays.
    """
    rows = _shares_of(db, owner_id, group_id)
    for row in rows:
        row.ended_at = at
    return len(rows)


def find_left_behind(db: Session, owner_id: int, group_key: str) -> int | None:
    """Return the id of a group with which somebody shares pictures, or None."""
    query = select(GroupRow.id).join(PictureShareRow, PictureShareRow.group_id == GroupRow.id)
    query = query.join(PictureRow, PictureRow.id == PictureShareRow.picture_id)
    return db.scalars(
        query.where(GroupRow.public_id == group_key, PictureRow.owner_id == owner_id, PictureShareRow.ended_at.is_(None)).limit(1)
    ).first()


def list_left_behind(db: Session, owner_id: int) -> tuple[LeftBehind, ...]:
    """Return the groups that somebody has left and still shares pictures with, by title."""
    is_in = exists().where(MembershipRow.group_id == GroupRow.id, MembershipRow.account_id == owner_id, MembershipRow.until.is_(None))
    query = (
        select(GroupRow.title, GroupRow.public_id, func.count())
        .join(PictureShareRow, PictureShareRow.group_id == GroupRow.id)
        .join(PictureRow, PictureRow.id == PictureShareRow.picture_id)
        .where(PictureRow.owner_id == owner_id, PictureShareRow.ended_at.is_(None), ~is_in)
        .group_by(GroupRow.id, GroupRow.title, GroupRow.public_id)
        .order_by(GroupRow.title, GroupRow.id)
    )
    return tuple(LeftBehind(title, public_id, pictures) for title, public_id, pictures in db.execute(query))


def _shares_of(db: Session, owner_id: int, group_id: int) -> list[PictureShareRow]:
    query = select(PictureShareRow).join(PictureRow, PictureRow.id == PictureShareRow.picture_id)
    return list(
        db.scalars(query.where(PictureShareRow.group_id == group_id, PictureShareRow.ended_at.is_(None), PictureRow.owner_id == owner_id))
    )


def _shown(group_id: int, on: date) -> Select[PictureRow]:
    return (
        select(PictureRow)
        .join(PictureShareRow, PictureShareRow.picture_id == PictureRow.id)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(AccountRow, AccountRow.id == PictureRow.owner_id)
        .where(
            PictureShareRow.group_id == group_id,
            PictureShareRow.ended_at.is_(None),
            GroupRow.retired_at.is_(None),
            PictureRow.retired_at.is_(None),
            PictureRow.use != Use.HELD_OUT.value,
            RightsRow.may_group,
            RightsRow.may_paid | GroupRow.is_paid.is_(False),
            runs_on(on),
        )
    )
