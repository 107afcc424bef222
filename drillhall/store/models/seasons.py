"""What a group does together: pair sets assigned to it, outings, the weeks of its season, and the links to its calendar."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class AssignmentRow(Row):
    """A pair set given to a group from a day on, for a day where there is one; `target_recall` None leaves each her own."""

    __tablename__ = "assignment"
    __table_args__ = (
        CheckConstraint("for_day IS NULL OR for_day >= from_day", name="days"),
        CheckConstraint("target_recall IS NULL OR target_recall BETWEEN 0.70 AND 0.97", name="target_recall"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    pair_set_id: Mapped[int] = mapped_column(ForeignKey("pair_set.id", ondelete="RESTRICT"), index=True)
    from_day: Mapped[date]
    for_day: Mapped[date | None]
    target_recall: Mapped[float | None]
    made_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    made_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class OutingRow(Row):
    """A day in the field; it prepares for an assignment or for a pair set; `changes` counts how often it was changed since made."""

    __tablename__ = "outing"
    __table_args__ = (CheckConstraint("(assignment_id IS NULL) <> (pair_set_id IS NULL)", name="one_purpose"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    assignment_id: Mapped[int | None] = mapped_column(ForeignKey("assignment.id", ondelete="RESTRICT"), index=True)
    pair_set_id: Mapped[int | None] = mapped_column(ForeignKey("pair_set.id", ondelete="RESTRICT"), index=True)
    title: Mapped[str] = mapped_column(String(120))
    day: Mapped[date]
    place: Mapped[str] = mapped_column(String(200), default="")
    changes: Mapped[int] = mapped_column(default=0)
    made_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    made_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class SeasonEntryRow(Row):
    """Some weeks of a group's season: a lesson (an assignment or words), a holiday, or what is here then; from a Monday to a Sunday."""

    __tablename__ = "season_entry"
    __table_args__ = (
        CheckConstraint("kind IN ('lesson', 'holiday', 'here')", name="kind"),
        CheckConstraint("last_day > first_day", name="days"),
        CheckConstraint("assignment_id IS NULL OR kind = 'lesson'", name="assignment"),
        CheckConstraint("assignment_id IS NOT NULL OR words <> ''", name="words"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    assignment_id: Mapped[int | None] = mapped_column(ForeignKey("assignment.id", ondelete="RESTRICT"), index=True)
    kind: Mapped[str] = mapped_column(String(8))
    first_day: Mapped[date]
    last_day: Mapped[date]
    words: Mapped[str] = mapped_column(Text, default="")
    changes: Mapped[int] = mapped_column(default=0)
    made_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    made_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class CalendarLinkRow(Row):
    """Somebody's own link to the calendar of a group; good while she is in it. Its token is kept only as its SHA-256."""

    __tablename__ = "calendar_link"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    made_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
