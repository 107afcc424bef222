"""Concepts that were learnt apart and are said to be one: each joining, what it moved, and whom it is to be told."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class ConceptJoinRow(Row):
    """Two concepts joined because catalogues say that they have one boundary; the row goes where no catalogue says so any more.

    `subject_id` and `object_id` are the two of the mapping that asked for it.
    """

    __tablename__ = "concept_join"
    __table_args__ = (CheckConstraint("subject_id <> object_id", name="two"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    subject_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    object_id: Mapped[int] = mapped_column(ForeignKey("concept.id", ondelete="RESTRICT"), index=True)
    by_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    at: Mapped[datetime]


class ConceptJoinMoveRow(Row):
    """One reference that a joining moved, in their order: a column of a row named `old` and names `new` since.

    `row_key` holds the other columns of the row's primary key, or its only one, as text with / between.
    """

    __tablename__ = "concept_join_move"
    __table_args__ = (Index("ix_concept_join_move_join", "join_id", "table_name", "column_name"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    join_id: Mapped[int] = mapped_column(ForeignKey("concept_join.id", ondelete="CASCADE"))
    table_name: Mapped[str] = mapped_column(String(40))
    column_name: Mapped[str] = mapped_column(String(40))
    row_key: Mapped[str] = mapped_column(String(120))
    old: Mapped[int | None]
    new: Mapped[int | None]


class ConceptJoinNoticeRow(Row):
    """That a learner is to be told of a joining: `rounds` of hers count for the form that stays, `fell_away` for nothing any more."""

    __tablename__ = "concept_join_notice"

    join_id: Mapped[int] = mapped_column(ForeignKey("concept_join.id", ondelete="CASCADE"), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True, index=True)
    rounds: Mapped[int]
    fell_away: Mapped[int]
    put_away_at: Mapped[datetime | None]
