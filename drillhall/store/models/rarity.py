"""Rarity drills: one form as rare as in the field. They are kept apart, for odds like these bias whoever answers."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class RarityDrillRow(Row):
    """One rarity drill of a learner: in its second part one showing in `one_in` shows the rare form."""

    __tablename__ = "rarity_drill"
    __table_args__ = (
        CheckConstraint("one_in BETWEEN 2 AND 100", name="one_in"),
        Index("ix_rarity_drill_account_made", "account_id", "made_at"),
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), index=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="RESTRICT"), index=True)
    rare_form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    one_in: Mapped[int]
    made_at: Mapped[datetime]


class RarityShowingRow(Row):
    """One picture of a rarity drill; `feedback` in the warm-up alone, `said_form_id` None until it is answered."""

    __tablename__ = "rarity_showing"
    __table_args__ = (
        UniqueConstraint("drill_id", "place"),
        Index("ix_rarity_showing_account_picture", "account_id", "picture_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    drill_id: Mapped[str] = mapped_column(ForeignKey("rarity_drill.id", ondelete="CASCADE"))
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    place: Mapped[int]
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), index=True)
    form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    feedback: Mapped[bool]
    said_form_id: Mapped[int | None]
    at: Mapped[datetime | None]
