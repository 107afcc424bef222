"""Pictures: what each shows, whose it is, its rights, its stored sizes, and the marks on it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, Index, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class PictureRow(Row):
    """One image with its owner and what it shows; `public_id` is its unguessable name in addresses.

    `described_at` None: it was sent and nothing has been said of it yet. `either_form_id` and `or_form_id` are set together
    where its owner cannot tell which of two it is; it then has no form and is never drilled. `sex` to `variant` say what is
    seen beyond the form. `several`: more than one organism is on it, so it is drilled only with a mark *subject*. The frame
    is the rectangle to cut to, in fractions of the upright picture. `found` is what the file said of its rights: {field: words}.
    """

    __tablename__ = "picture"
    __table_args__ = (
        CheckConstraint("use IN ('practice', 'portrait', 'held-out')", name="use"),
        CheckConstraint("(either_form_id IS NULL) = (or_form_id IS NULL)", name="both_or_none"),
        CheckConstraint("either_form_id IS NULL OR (form_id IS NULL AND either_form_id <> or_form_id)", name="either_or"),
        CheckConstraint(
            "(frame_x IS NULL) = (frame_y IS NULL) AND (frame_x IS NULL) = (frame_width IS NULL)"
            " AND (frame_x IS NULL) = (frame_height IS NULL)",
            name="whole_frame",
        ),
        CheckConstraint(
            "frame_x IS NULL OR (frame_x >= 0 AND frame_y >= 0 AND frame_width > 0 AND frame_height > 0"
            " AND frame_x + frame_width <= 1.000001 AND frame_y + frame_height <= 1.000001)",
            name="frame_inside",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    public_id: Mapped[str] = mapped_column(String(36), unique=True)
    owner_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    either_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    or_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    use: Mapped[str] = mapped_column(String(10), default="practice")
    sex: Mapped[str] = mapped_column(String(40), default="")
    life_stage: Mapped[str] = mapped_column(String(40), default="")
    plumage: Mapped[str] = mapped_column(String(80), default="")
    variant: Mapped[str] = mapped_column(String(80), default="")
    several: Mapped[bool] = mapped_column(default=False)
    frame_x: Mapped[float | None]
    frame_y: Mapped[float | None]
    frame_width: Mapped[float | None]
    frame_height: Mapped[float | None]
    found: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    medium: Mapped[str] = mapped_column(String(20), default="Photograph")
    orientation: Mapped[str] = mapped_column(String(24), default="")
    pose: Mapped[str] = mapped_column(String(40), default="")
    setting: Mapped[str] = mapped_column(String(40), default="")
    distance: Mapped[str] = mapped_column(String(10), default="")
    typical: Mapped[bool] = mapped_column(default=True)
    alt: Mapped[str] = mapped_column(String(300), default="")
    taken_on: Mapped[date | None]
    width_px: Mapped[int]
    height_px: Mapped[int]
    content_sha256: Mapped[str] = mapped_column(String(64), index=True)
    fingerprint: Mapped[int] = mapped_column(BigInteger)
    cluster: Mapped[str] = mapped_column(String(40), default="")
    made_at: Mapped[datetime]
    described_at: Mapped[datetime | None]
    retired_at: Mapped[datetime | None]


class RightsRow(Row):
    """What a picture's maker allows; the `may_*` columns are derived by core/rights.py and kept for filtering.

    `agreed` lists what the owner of the rights agreed to, by the names of purposes in rights.py, where no open licence says it.
    `granted_by` and `granted_on` tell who gave a permission and when; `evidence` is the note of how one knows that, or why a
    picture is said to be in the public domain, of which `granted_by` then says so. `data_mining` is a key of the PLUS vocabulary.
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
    agreed: Mapped[str] = mapped_column(String(120), default="")
    granted_by: Mapped[str] = mapped_column(String(200), default="")
    granted_on: Mapped[date | None]
    evidence: Mapped[str] = mapped_column(Text, default="")
    data_mining: Mapped[str] = mapped_column(String(60), default="")
    may_group: Mapped[bool] = mapped_column(default=False)
    may_public: Mapped[bool] = mapped_column(default=False)
    may_alter: Mapped[bool] = mapped_column(default=False)
    may_paid: Mapped[bool] = mapped_column(default=False)
    may_until: Mapped[date | None]


class FileRow(Row):
    """One stored size of a picture; `recipe` is the hash of what made it and stands in its address.

    `rendition` is "as taken" for the whole picture, "cut" for its frame, else the name of a rendition that alters it.
    `size_name` "original" is the file as its owner gave it, place and all: it is kept for her alone and never served.
    `sha256` is that of the bytes; empty for files kept before it was written down.
    """

    __tablename__ = "file"
    __table_args__ = (UniqueConstraint("picture_id", "recipe"), UniqueConstraint("picture_id", "size_name"))

    id: Mapped[int] = mapped_column(primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), index=True)
    size_name: Mapped[str] = mapped_column(String(24))
    rendition: Mapped[str] = mapped_column(String(16), default="as taken")
    recipe: Mapped[str] = mapped_column(String(32))
    storage_key: Mapped[str] = mapped_column(String(120))
    media_type: Mapped[str] = mapped_column(String(40))
    width_px: Mapped[int]
    height_px: Mapped[int]
    bytes: Mapped[int]
    sha256: Mapped[str] = mapped_column(String(64), default="")


class MarkRow(Row):
    """A rectangle on a picture that shows a trait of one catalogue, in fractions of the upright picture.

    `trait_id` None is the mark *subject*: which of several organisms is meant.
    """

    __tablename__ = "mark"
    __table_args__ = (
        Index(
            "uq_mark_subject",
            "picture_id",
            unique=True,
            sqlite_where=text("trait_id IS NULL"),
            postgresql_where=text("trait_id IS NULL"),
        ),
        UniqueConstraint("picture_id", "trait_id"),
        CheckConstraint("x >= 0 AND y >= 0 AND width > 0 AND height > 0", name="corner"),
        CheckConstraint("x + width <= 1.000001 AND y + height <= 1.000001", name="inside"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), index=True)
    trait_id: Mapped[int | None] = mapped_column(ForeignKey("trait.id", ondelete="CASCADE"), index=True)
    x: Mapped[float]
    y: Mapped[float]
    width: Mapped[float]
    height: Mapped[float]


class PictureShareRow(Row):
    """A picture that its owner shows to the people of a group; `ended_at` set: no longer."""

    __tablename__ = "picture_share"

    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), primary_key=True, index=True)
    shared_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class PictureOfferRow(Row):
    """A picture that its owner offers to a catalogue: open until a steward decides or she takes it back.

    `decision` is "" while open, then "accepted", "declined" or "taken back"; `note` is what the steward said with it.
    """

    __tablename__ = "picture_offer"
    __table_args__ = (
        Index(
            "uq_picture_offer_open",
            "picture_id",
            "catalogue_id",
            unique=True,
            sqlite_where=text("decision = ''"),
            postgresql_where=text("decision = ''"),
        ),
        CheckConstraint("decision IN ('', 'accepted', 'declined', 'taken back')", name="decision"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), index=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), index=True)
    offered_at: Mapped[datetime]
    decision: Mapped[str] = mapped_column(String(12), default="")
    decided_at: Mapped[datetime | None]
    decided_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    note: Mapped[str] = mapped_column(String(300), default="")


class LabelChangeRow(Row):
    """A correction of what a picture shows: answers given are judged by the form in force; `undone_at` set: it no longer counts.

    `to_form_id` None: it cannot be told which it is; `either_form_id` and `or_form_id` are the two between which it lies, if said.
    """

    __tablename__ = "label_change"

    id: Mapped[int] = mapped_column(primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), index=True)
    from_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    to_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    either_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    or_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    by_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    at: Mapped[datetime]
    note: Mapped[str] = mapped_column(String(300), default="")
    undone_at: Mapped[datetime | None]
    undone_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)


class PicturesApartRow(Row):
    """Two pictures of a catalogue that look nearly the same, of which a steward has said that they are two scenes."""

    __tablename__ = "pictures_apart"
    __table_args__ = (CheckConstraint("first_picture_id < second_picture_id", name="order"),)

    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="CASCADE"), primary_key=True)
    first_picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), primary_key=True, index=True)
    second_picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="CASCADE"), primary_key=True, index=True)
    said_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    said_at: Mapped[datetime]
