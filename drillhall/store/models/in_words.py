"""Drills in words: birds described instead of shown. They are kept apart, for to know in words what parts two is not yet to see it."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class WordDrillRow(Row):
    """One drill in words of a learner, on a day of hers."""

    __tablename__ = "word_drill"
    __table_args__ = (Index("ix_word_drill_account_made", "account_id", "made_at"),)

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    day: Mapped[date]
    made_at: Mapped[datetime]


class DescriptionRow(Row):
    """One bird described: `told` is [[trait key, state key], ...] in the order told; `said_form_id` None until it is answered."""

    __tablename__ = "description"
    __table_args__ = (
        UniqueConstraint("drill_id", "place"),
        CheckConstraint("sure IN ('', 'certain', 'probable', 'possible')", name="sure"),
        Index("ix_description_account_pair", "account_id", "pair_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    drill_id: Mapped[str] = mapped_column(ForeignKey("word_drill.id", ondelete="CASCADE"))
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    place: Mapped[int]
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), index=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="RESTRICT"), index=True)
    form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    told: Mapped[list[list[str]]] = mapped_column(JSON)
    said_form_id: Mapped[int | None]
    sure: Mapped[str] = mapped_column(String(8), default="")
    at: Mapped[datetime | None]
