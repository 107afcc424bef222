"""Groups: people who drill together, and who is in each, as what, from when until when."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class GroupRow(Row):
    """A club or a class; `public_id` is its unguessable name in addresses, `is_paid` says that its members pay for it."""

    __tablename__ = "group"
    __table_args__ = (CheckConstraint("kind IN ('club', 'class')", name="kind"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    public_id: Mapped[str] = mapped_column(String(36), unique=True)
    title: Mapped[str] = mapped_column(String(120))
    kind: Mapped[str] = mapped_column(String(8), default="club")
    is_paid: Mapped[bool] = mapped_column(default=False)
    made_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class MembershipRow(Row):
    """Somebody's time in a group in one role; `lets_leader_see` is her own word on who may see her weak spots by name."""

    __tablename__ = "membership"
    __table_args__ = (
        CheckConstraint("role IN ('member', 'leader', 'teacher')", name="role"),
        Index(
            "uq_membership_running",
            "group_id",
            "account_id",
            unique=True,
            sqlite_where=text("until IS NULL"),
            postgresql_where=text("until IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    role: Mapped[str] = mapped_column(String(8), default="member")
    since: Mapped[datetime]
    until: Mapped[datetime | None]
    lets_leader_see: Mapped[bool] = mapped_column(default=False)
