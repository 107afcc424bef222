"""Pictures: what each shows, whose it is, its rights, its stored sizes, and the marks on it."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import BigInteger, CheckConstraint, ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class PictureRow(Row):
    """One image with its owner and what it shows; `public_id` is its unguessable name in addresses."""

    __tablename__ = "picture"
    __table_args__ = (CheckConstraint("use IN ('practice', 'portrait', 'held-out')", name="use"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    public_id: Mapped[str] = mapped_column(String(36), unique=True)
    owner_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    use: Mapped[str] = mapped_column(String(10), default="practice")
    medium: Mapped[str] = mapped_column(String(20), default="Photograph")
    orientation: Mapped[str] = mapped_column(String(24), default="")
    pose: Mapped[str] = mapped_column(String(40), default="")
    setting: Mapped[str] = mapped_column(String(40), default="")
    typical: Mapped[bool] = mapped_column(default=True)
    alt: Mapped[str] = mapped_column(String(300), default="")
    taken_on: Mapped[date | None]
    width_px: Mapped[int]
    height_px: Mapped[int]
    content_sha256: Mapped[str] = mapped_column(String(64), index=True)
    fingerprint: Mapped[int] = mapped_column(BigInteger)
    cluster: Mapped[str] = mapped_column(String(40), default="")
    made_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class RightsRow(Row):
    """What a picture's maker allows; the `may_*` columns are derived by core/rights.py and kept for filtering.

    `agreed` lists what the owner of the rights agreed to, by the names of purposes in rights.py, where no open licence says it.
    """

    __tablename__ = "rights"

    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), primary_key=True)
    creator: Mapped[str] = mapped_column(String(200), default="")
    licence: Mapped[str] = mapped_column(String(60), default="")
    licence_url: Mapped[str] = mapped_column(String(300), default="")
    credit: Mapped[str] = mapped_column(String(300), default="")
    rights_owner: Mapped[str] = mapped_column(String(200), default="")
    source: Mapped[str] = mapped_column(String(300), default="")
    title: Mapped[str] = mapped_column(String(300), default="")
    statement: Mapped[str] = mapped_column(Text, default="")
    agreed: Mapped[str] = mapped_column(String(80), default="")
    may_group: Mapped[bool] = mapped_column(default=False)
    may_public: Mapped[bool] = mapped_column(default=False)
    may_alter: Mapped[bool] = mapped_column(default=False)
    may_paid: Mapped[bool] = mapped_column(default=False)
    may_until: Mapped[date | None]


class FileRow(Row):
    """One stored size of a picture; `recipe` is the hash of what made it and stands in its address.

    `size_name` "original" is the file as its owner gave it, place and all: it is kept for her alone and never served.
    """

    __tablename__ = "file"
    __table_args__ = (UniqueConstraint("picture_id", "recipe"), UniqueConstraint("picture_id", "size_name"))

    id: Mapped[int] = mapped_column(primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), index=True)
    size_name: Mapped[str] = mapped_column(String(24))
    recipe: Mapped[str] = mapped_column(String(32))
    storage_key: Mapped[str] = mapped_column(String(120))
    media_type: Mapped[str] = mapped_column(String(40))
    width_px: Mapped[int]
    height_px: Mapped[int]
    bytes: Mapped[int]


class MarkRow(Row):
    """A rectangle on a picture that shows a trait of one catalogue, in fractions of the upright picture."""

    __tablename__ = "mark"
    __table_args__ = (
        UniqueConstraint("picture_id", "trait_id"),
        CheckConstraint("x >= 0 AND y >= 0 AND width > 0 AND height > 0", name="corner"),
        CheckConstraint("x + width <= 1.000001 AND y + height <= 1.000001", name="inside"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), index=True)
    trait_id: Mapped[int] = mapped_column(ForeignKey("trait.id", ondelete="CASCADE"), index=True)
    x: Mapped[float]
    y: Mapped[float]
    width: Mapped[float]
    height: Mapped[float]
