"""Field tests: what a group is asked on held-out pictures, who may have more time, and the sittings with what was said in each."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class FieldTestRow(Row):
    """A test set to a group out of one catalogue; it may be begun from `opens_at` until `until`.

    `minutes` None: without a limit until it shuts. `repeats`: whoever has handed in may sit it again. `may_pause`: the clock may be
    stopped, with the picture out of sight. `released_at` is when sitters were let see their results, `retired_at` when it was called off.
    """

    __tablename__ = "field_test"
    __table_args__ = (
        CheckConstraint("until > opens_at", name="window"),
        CheckConstraint("minutes IS NULL OR minutes > 0", name="minutes"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="RESTRICT"), index=True)
    title: Mapped[str] = mapped_column(String(120))
    minutes: Mapped[int | None]
    opens_at: Mapped[datetime]
    until: Mapped[datetime]
    repeats: Mapped[bool] = mapped_column(default=False)
    may_pause: Mapped[bool] = mapped_column(default=False)
    made_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    made_at: Mapped[datetime]
    released_at: Mapped[datetime | None]
    retired_at: Mapped[datetime | None]


class FieldTestPairRow(Row):
    """A pair that a test asks about; with field odds, one picture in `one_in` shows the rare form."""

    __tablename__ = "field_test_pair"
    __table_args__ = (
        CheckConstraint("(rare_form_id IS NULL) = (one_in IS NULL)", name="odds"),
        CheckConstraint("one_in IS NULL OR one_in BETWEEN 2 AND 100", name="one_in"),
    )

    field_test_id: Mapped[int] = mapped_column(ForeignKey("field_test.id", ondelete="CASCADE"), primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), primary_key=True, index=True)
    place: Mapped[int]
    rare_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    one_in: Mapped[int | None]


class FieldTestQuestionRow(Row):
    """One question of a test, the same for all sitters; its key is what the picture is said to show when it is marked.

    `dropped_at` is when the picture was found to be no longer there for everybody: the question then counts for nobody.
    """

    __tablename__ = "field_test_question"
    __table_args__ = (UniqueConstraint("field_test_id", "picture_id"), UniqueConstraint("field_test_id", "place"))

    id: Mapped[int] = mapped_column(primary_key=True)
    field_test_id: Mapped[int] = mapped_column(ForeignKey("field_test.id", ondelete="CASCADE"), index=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), index=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), index=True)
    place: Mapped[int]
    dropped_at: Mapped[datetime | None]


class FieldTestExtraRow(Row):
    """More time for one learner in one test: so many percent beyond what the others have, or None for no limit at all."""

    __tablename__ = "field_test_extra"
    __table_args__ = (CheckConstraint("percent IS NULL OR percent BETWEEN 1 AND 900", name="percent"),)

    field_test_id: Mapped[int] = mapped_column(ForeignKey("field_test.id", ondelete="CASCADE"), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True, index=True)
    percent: Mapped[int | None]


class SittingRow(Row):
    """One person's run of a test, her `number`-th; it is over once handed in, or at `due_at`, which a pause puts off.

    `counts` is False for whoever may have known the pictures: a steward, an owner, or somebody who leads the group.
    """

    __tablename__ = "sitting"
    __table_args__ = (
        UniqueConstraint("field_test_id", "account_id", "number"),
        CheckConstraint("number > 0", name="number"),
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    field_test_id: Mapped[int] = mapped_column(ForeignKey("field_test.id", ondelete="CASCADE"), index=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    number: Mapped[int]
    begun_at: Mapped[datetime]
    due_at: Mapped[datetime]
    paused_at: Mapped[datetime | None]
    handed_at: Mapped[datetime | None]
    counts: Mapped[bool] = mapped_column(default=True)


class SittingItemRow(Row):
    """A question in its place within a sitting; `seen_at` is when its picture was first put before the sitter, never forgotten."""

    __tablename__ = "sitting_item"
    __table_args__ = (
        UniqueConstraint("sitting_id", "place"),
        CheckConstraint("(said_form_id IS NULL) = (answered_at IS NULL)", name="answer"),
    )

    sitting_id: Mapped[str] = mapped_column(ForeignKey("sitting.id", ondelete="CASCADE"), primary_key=True)
    question_id: Mapped[int] = mapped_column(ForeignKey("field_test_question.id", ondelete="CASCADE"), primary_key=True, index=True)
    place: Mapped[int]
    seen_at: Mapped[datetime | None]
    said_form_id: Mapped[int | None] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    answered_at: Mapped[datetime | None]
