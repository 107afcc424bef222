"""What goes out by mail: letters that wait, where people are reached, who is subscribed to an open question, and the jobs that recur."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, Index, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class LetterRow(Row):
    """A letter, kept in the same work as what it tells of; once it is sent or given up, nothing of it stays but kind, times and fault.

    `key` makes it be written once; `claimed_until` is how long whoever sends it has it for herself; `until` is when it is too late.
    `picture` and `recipe` name a picture to enclose.
    """

    __tablename__ = "letter"
    __table_args__ = (
        Index(
            "ix_letter_waiting",
            "due_at",
            sqlite_where=text("sent_at IS NULL AND given_up_at IS NULL"),
            postgresql_where=text("sent_at IS NULL AND given_up_at IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(120), unique=True)
    kind: Mapped[str] = mapped_column(String(24))
    account_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    subscription_id: Mapped[int | None] = mapped_column(ForeignKey("subscription.id", ondelete="CASCADE"), index=True)
    address: Mapped[str] = mapped_column(String(254))
    subject: Mapped[str] = mapped_column(String(250))
    text: Mapped[str] = mapped_column(Text)
    html: Mapped[str] = mapped_column(Text)
    unsubscribe: Mapped[str] = mapped_column(String(500), default="")
    picture: Mapped[str] = mapped_column(String(36), default="")
    recipe: Mapped[str] = mapped_column(String(64), default="")
    message_id: Mapped[str] = mapped_column(String(300))
    made_at: Mapped[datetime]
    due_at: Mapped[datetime]
    until: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0)
    claimed_until: Mapped[datetime | None]
    sent_at: Mapped[datetime | None]
    given_up_at: Mapped[datetime | None]
    fault: Mapped[str] = mapped_column(String(160), default="")


class AddressRow(Row):
    """Where somebody is reached by mail, if she says so; `public_id` is made anew whenever she asks, and its links hang on it."""

    __tablename__ = "address"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    public_id: Mapped[str] = mapped_column(String(36), unique=True)
    address: Mapped[str] = mapped_column(String(254))
    asked_at: Mapped[datetime]
    confirmed_at: Mapped[datetime | None]
    reminders: Mapped[bool] = mapped_column(default=True)
    reminded_at: Mapped[datetime | None]


class SubscriptionRow(Row):
    """An address to which an open question goes each day once it is confirmed; ended, it is deleted."""

    __tablename__ = "subscription"
    __table_args__ = (UniqueConstraint("question_id", "address"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    question_id: Mapped[int] = mapped_column(ForeignKey("open_question.id", ondelete="CASCADE"))
    public_id: Mapped[str] = mapped_column(String(36), unique=True)
    address: Mapped[str] = mapped_column(String(254))
    asked_at: Mapped[datetime]
    confirmed_at: Mapped[datetime | None]
    mailed_day: Mapped[date | None]


class JobRow(Row):
    """What the hall does again and again, by name: when it is due, when it last ran, and what went wrong then."""

    __tablename__ = "job"

    name: Mapped[str] = mapped_column(String(60), primary_key=True)
    due_at: Mapped[datetime]
    ran_at: Mapped[datetime | None]
    fault: Mapped[str] = mapped_column(String(160), default="")
