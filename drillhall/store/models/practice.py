"""Practice: drills, rounds, showings and answers (the only truth), and the folds over them: memory, tally and sight."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class DrillRow(Row):
    """One sitting of a learner, as planned; `zone` is hers at planning, `showing_ms` what a
    showing took her then, `pace_ms` her median time from seeing a picture to naming it.

    `first_at` and `local_day` are derived from the log: the first answer given, and its date in the drill's zone,
    never earlier than that of the learner's drill before. `is_trial`: its one round tries whether she knows the pair already.
    """

    __tablename__ = "drill"
    __table_args__ = (
        Index("ix_drill_account_planned", "account_id", "planned_at"),
        Index("ix_drill_account_first", "account_id", "first_at"),
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    zone: Mapped[str] = mapped_column(String(64))
    planned_at: Mapped[datetime]
    planned_day: Mapped[date]
    until: Mapped[datetime]
    minutes: Mapped[int]
    showing_ms: Mapped[int]
    pace_ms: Mapped[int]
    first_at: Mapped[datetime | None]
    local_day: Mapped[date | None]
    ended_at: Mapped[datetime | None]
    is_trial: Mapped[bool] = mapped_column(default=False)


class RoundRow(Row):
    """A short run of showings about one pair; `rounds_before` counts the pair's rounds begun when it was planned.

    `ends_at_miss`: its first miss ends it; `spare`: it is played only where rounds that ended early have left its time.
    """

    __tablename__ = "round"
    __table_args__ = (UniqueConstraint("drill_id", "place"), Index("ix_round_account_pair", "account_id", "pair_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    drill_id: Mapped[str] = mapped_column(ForeignKey("drill.id", ondelete="CASCADE"))
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), index=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="RESTRICT"), index=True)
    place: Mapped[int]
    why: Mapped[str] = mapped_column(String(16))
    rounds_before: Mapped[int]
    ends_at_miss: Mapped[bool] = mapped_column(default=False)
    spare: Mapped[bool] = mapped_column(default=False)


class ShowingRow(Row):
    """One picture put before a learner, and what was asked: `asks` is a list of {kind, choices, key, trait}.

    `beside_id` is a picture of the pair's other form that stands beside it, where which of two is a form is asked; then `form_id` is
    the form asked for. `first_sight` and `fresh`, of the first picture, are as planned until it is answered; from then on they are
    derived from the log, like the sights. `renamed` is {form named in `asks` or said: the one that stands for it}, where concepts were
    joined since; what was asked and said stays as it was.
    """

    __tablename__ = "showing"
    __table_args__ = (UniqueConstraint("round_id", "place"), Index("ix_showing_account_picture", "account_id", "picture_id"))

    id: Mapped[int] = mapped_column(primary_key=True)
    round_id: Mapped[int] = mapped_column(ForeignKey("round.id", ondelete="CASCADE"))
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    place: Mapped[int]
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), index=True)
    form_id: Mapped[int] = mapped_column(ForeignKey("form.id", ondelete="RESTRICT"), index=True)
    rendition: Mapped[str] = mapped_column(String(16), default="as taken")
    orientation: Mapped[str] = mapped_column(String(24), default="")
    first_sight: Mapped[bool]
    fresh: Mapped[bool]
    prompted: Mapped[bool] = mapped_column(default=False)
    third: Mapped[bool] = mapped_column(default=False)
    beside_id: Mapped[int | None] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), index=True)
    asks: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    renamed: Mapped[dict[str, str] | None] = mapped_column(JSON(none_as_null=True))


class AnswerRow(Row):
    """What was said of one question of a showing: append-only; the client makes the id (UUID version 7).

    `at` is when it was given, corrected; `phone_at` is the phone's own time and `received_at` the hall's, both as they were.
    """

    __tablename__ = "answer"
    __table_args__ = (
        Index("ix_answer_showing_ask", "showing_id", "ask"),
        Index("ix_answer_account_at", "account_id", "at"),
        CheckConstraint("seconds >= 0", name="seconds"),
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    showing_id: Mapped[int] = mapped_column(ForeignKey("showing.id", ondelete="RESTRICT"))
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"))
    ask: Mapped[int]
    said: Mapped[str] = mapped_column(String(80))
    sure: Mapped[str | None] = mapped_column(String(8))
    seconds: Mapped[float]
    hint: Mapped[bool] = mapped_column(default=False)
    at: Mapped[datetime]
    phone_at: Mapped[datetime]
    received_at: Mapped[datetime]


class MemoryRow(Row):
    """The scheduler's state of one learner for one pair: a fold over the rated rounds; `due_day` is derived.

    `recalled` lists, for each rated round after the first, the recall that the scheduler gave that day before it, and 1 or 0: held or not.
    """

    __tablename__ = "memory"
    __table_args__ = (Index("ix_memory_account_due", "account_id", "due_day"), Index("ix_memory_last_day", "last_day"))

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), primary_key=True, index=True)
    stability_days: Mapped[float]
    difficulty: Mapped[float]
    last_day: Mapped[date]
    rounds: Mapped[int]
    held_running: Mapped[int]
    last_outcome: Mapped[str] = mapped_column(String(16))
    due_day: Mapped[date]
    recalled: Mapped[list[list[float]]] = mapped_column(JSON, default=list)


class ParameterSetRow(Row):
    """Numbers of her own by which a learner's rounds are folded, offered at `made_at`: an event from `taken_at` to `ended_at`.

    `rounds` is how many they were fitted to; the losses tell how well either set foretold the `judged_on` rounds after those.
    """

    __tablename__ = "parameter_set"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    parameters: Mapped[list[float]] = mapped_column(JSON)
    rounds: Mapped[int]
    judged_on: Mapped[int]
    usual_loss: Mapped[float]
    fitted_loss: Mapped[float]
    made_at: Mapped[datetime]
    taken_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]


class TallyRow(Row):
    """Integer counts of answers, by which everything about skill is told; `said_form_id` 0 is *neither*."""

    __tablename__ = "tally"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), primary_key=True, index=True)
    shown_form_id: Mapped[int] = mapped_column(primary_key=True)
    said_form_id: Mapped[int] = mapped_column(primary_key=True)
    week: Mapped[int] = mapped_column(primary_key=True)
    fresh: Mapped[bool] = mapped_column(primary_key=True)
    prompted: Mapped[bool] = mapped_column(primary_key=True)
    rendition: Mapped[str] = mapped_column(String(16), primary_key=True)
    orientation: Mapped[str] = mapped_column(String(24), primary_key=True)
    choices: Mapped[int] = mapped_column(primary_key=True)
    count: Mapped[int]


class TallyYearRow(Row):
    """What the tally comes to in an ISO year, for each form shown and each form said: as `core.confusion.YearSum` tells.

    It is what planning and standing read: a few rows of a pair and year, however much was answered. In the order of its key, so that a
    learner's latest years lie side by side.
    """

    __tablename__ = "tally_year"
    __table_args__ = {"sqlite_with_rowid": False}  # noqa: RUF012 - SQLAlchemy's own way to say it

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    year: Mapped[int] = mapped_column(primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), primary_key=True, index=True)
    shown_form_id: Mapped[int] = mapped_column(primary_key=True)
    said_form_id: Mapped[int] = mapped_column(primary_key=True)
    answers: Mapped[int]
    fresh: Mapped[int]
    plain: Mapped[int]
    weighed: Mapped[int] = mapped_column(BigInteger)


class PromptTallyRow(Row):
    """Integer counts of answers to questions about a trait, by the catalogue whose trait it is and the ISO week of the local day."""

    __tablename__ = "prompt_tally"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), primary_key=True, index=True)
    catalogue_id: Mapped[int] = mapped_column(ForeignKey("catalogue.id", ondelete="RESTRICT"), primary_key=True, index=True)
    trait: Mapped[str] = mapped_column(String(80), primary_key=True)
    week: Mapped[int] = mapped_column(primary_key=True)
    missed: Mapped[int]
    shown: Mapped[int]


class BesideTallyRow(Row):
    """Integer counts of answers to two pictures side by side: a forced choice, never summed with those to one picture."""

    __tablename__ = "beside_tally"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="RESTRICT"), primary_key=True, index=True)
    asked_form_id: Mapped[int] = mapped_column(primary_key=True)
    week: Mapped[int] = mapped_column(primary_key=True)
    missed: Mapped[int]
    shown: Mapped[int]


class FittingRow(Row):
    """That a learner has asked for numbers fitted to her rounds: a worker begins it, and says when it is done and if it offered any."""

    __tablename__ = "fitting"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    asked_at: Mapped[datetime]
    begun_at: Mapped[datetime | None]
    done_at: Mapped[datetime | None]
    offered: Mapped[bool] = mapped_column(default=False)


class HallRateRow(Row):
    """How often everybody together has missed one direction of a pair: sums over the tallies, as of the last time they were taken."""

    __tablename__ = "hall_rate"

    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="CASCADE"), primary_key=True)
    shown_form_id: Mapped[int] = mapped_column(primary_key=True)
    missed: Mapped[int]
    shown: Mapped[int]


class RecalibrationRow(Row):
    """The numbers that turn the scheduler's recall into a chance in this hall, as of the last time they were fitted; one row or none."""

    __tablename__ = "recalibration"

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    intercept: Mapped[float]
    slope: Mapped[float]


class SightRow(Row):
    """A learner's sight of a picture anywhere in the hall: a fold over the answers, so that planning need not read them."""

    __tablename__ = "sight"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    picture_id: Mapped[int] = mapped_column(ForeignKey("picture.id", ondelete="RESTRICT"), primary_key=True, index=True)
    first_at: Mapped[datetime]
    last_at: Mapped[datetime]
    times: Mapped[int]
