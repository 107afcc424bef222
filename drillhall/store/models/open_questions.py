"""Open questions: what anybody with the link is asked, which picture each day had, and how the answers fell; nothing of a visitor."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import JSON, CheckConstraint, ForeignKey, ForeignKeyConstraint, String
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class OpenQuestionRow(Row):
    """One picture a day out of a pair set; `public_id` is its name in addresses, `seed` the secret by which the day's is drawn.

    `zone` says where its days begin, `sites` which origins may frame its answers, `feed_id` is the permanent name of its feed.
    """

    __tablename__ = "open_question"

    id: Mapped[int] = mapped_column(primary_key=True)
    public_id: Mapped[str] = mapped_column(String(36), unique=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    pair_set_id: Mapped[int] = mapped_column(ForeignKey("pair_set.id", ondelete="CASCADE"), index=True)
    title: Mapped[str] = mapped_column(String(120))
    zone: Mapped[str] = mapped_column(String(64))
    seed: Mapped[str] = mapped_column(String(64))
    sites: Mapped[list[str]] = mapped_column(JSON, default=list)
    feed_id: Mapped[str] = mapped_column(String(300))
    first_day: Mapped[date]
    made_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class OpenDayRow(Row):
    """The picture that a question had on a day, written down with that day's first answer."""

    __tablename__ = "open_day"

    question_id: Mapped[int] = mapped_column(ForeignKey("open_question.id", ondelete="CASCADE"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), index=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), index=True)


class OpenAnswerRow(Row):
    """How often a form was said to a question on a day."""

    __tablename__ = "open_answer"
    __table_args__ = (
        ForeignKeyConstraint(["question_id", "day"], ["open_day.question_id", "open_day.day"], ondelete="CASCADE"),
        CheckConstraint("times >= 0", name="times"),
    )

    question_id: Mapped[int] = mapped_column(primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    said_form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), primary_key=True, index=True)
    times: Mapped[int] = mapped_column(default=0)
