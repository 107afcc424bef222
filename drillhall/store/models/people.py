"""People: accounts, their sign-ins, second steps and passkeys, invitations, one-time links, counted attempts, settings, the audit log."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class AccountRow(Row):
    """One person; `name` is what she signs in with, kept in its folded spelling beside the one she typed.

    `list_name` is the list whose names she wishes to see; empty leaves it to each catalogue. `put_away` are the lists of first steps
    that she wants to see no more.
    """

    __tablename__ = "account"
    __table_args__ = (
        CheckConstraint("target_recall BETWEEN 0.70 AND 0.97", name="target_recall"),
        CheckConstraint("minutes_a_day BETWEEN 1 AND 120", name="minutes"),
        CheckConstraint("new_a_day BETWEEN 0 AND 10", name="new_a_day"),
        CheckConstraint("round_length IS NULL OR round_length BETWEEN 2 AND 6", name="round_length"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    name_folded: Mapped[str] = mapped_column(String(120), unique=True)
    passphrase_hash: Mapped[str] = mapped_column(String(200))
    is_keeper: Mapped[bool] = mapped_column(default=False)
    zone: Mapped[str] = mapped_column(String(64), default="UTC")
    language: Mapped[str] = mapped_column(String(16), default="en")
    minutes_a_day: Mapped[int] = mapped_column(default=10)
    target_recall: Mapped[float] = mapped_column(default=0.90)
    new_a_day: Mapped[int] = mapped_column(default=5)
    round_length: Mapped[int | None]
    colour_vision: Mapped[str] = mapped_column(String(16), default="")
    list_name: Mapped[str] = mapped_column(String(200), default="")
    single_keys: Mapped[bool] = mapped_column(default=False)
    letter_keys: Mapped[bool] = mapped_column(default=True)
    in_words: Mapped[bool] = mapped_column(default=False)
    keep_originals: Mapped[bool] = mapped_column(default=True)
    put_away: Mapped[list[str]] = mapped_column(JSON, default=list)
    created_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]


class SignInRow(Row):
    """One device that is signed in; the cookie's token is kept only as its SHA-256."""

    __tablename__ = "sign_in"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    stay: Mapped[bool] = mapped_column(default=False)
    made_at: Mapped[datetime]
    seen_at: Mapped[datetime]
    until: Mapped[datetime]


class SecondStepRow(Row):
    """Somebody's second step at sign-in. Its secret is kept nowhere: it is derived from `salt` under the hall's own.

    `confirmed_at` is None until she has shown a first code; `last_step` is the time step of the latest code that was taken.
    """

    __tablename__ = "second_step"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    salt: Mapped[str] = mapped_column(String(64))
    made_at: Mapped[datetime]
    confirmed_at: Mapped[datetime | None]
    last_step: Mapped[int] = mapped_column(default=0)


class SpareCodeRow(Row):
    """A code for when the device is lost, good once: `handle` is its first part, by which it is found, `code_hash` that of all of it."""

    __tablename__ = "spare_code"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    handle: Mapped[str] = mapped_column(String(8))
    code_hash: Mapped[str] = mapped_column(String(200))
    used_at: Mapped[datetime | None]


class PasskeyRow(Row):
    """A passkey of somebody's (W3C, Web Authentication): its public half alone, the other never leaves her device.

    `credential_id`, `user_handle` and `public_key` (a COSE key) are in base64url; `sign_count` is what her device last counted, below
    2 ** 32, and 0 where it does not count; `transports` say how a browser may reach it.
    """

    __tablename__ = "passkey"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    credential_id: Mapped[str] = mapped_column(String(1400), unique=True)
    user_handle: Mapped[str] = mapped_column(String(100))
    public_key: Mapped[str] = mapped_column(String(1400))
    sign_count: Mapped[int] = mapped_column(BigInteger)
    transports: Mapped[list[str]] = mapped_column(JSON, default=list)
    name: Mapped[str] = mapped_column(String(60))
    made_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class InvitationRow(Row):
    """A link by which somebody may join the hall, and a group of it where one is named; its token is kept only as its SHA-256.

    `code_hash` is that of the short code that may be typed instead, under the hall's secret; None where it has none, or had one.
    """

    __tablename__ = "invitation"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    code_hash: Mapped[str | None] = mapped_column(String(64), unique=True)
    made_by: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    group_id: Mapped[int | None] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    note: Mapped[str] = mapped_column(String(120), default="")
    made_at: Mapped[datetime]
    until: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    places: Mapped[int] = mapped_column(default=1)
    taken: Mapped[int] = mapped_column(default=0)


class OneTimeLinkRow(Row):
    """A link that steps in as one account, once: to a demo hall's people."""

    __tablename__ = "one_time_link"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    account_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    purpose: Mapped[str] = mapped_column(String(24))
    until: Mapped[datetime]
    used_at: Mapped[datetime | None]


class AttemptRow(Row):
    """How often something was tried within a window, so that several processes count together."""

    __tablename__ = "attempt"

    subject: Mapped[str] = mapped_column(String(120), primary_key=True)
    window_start: Mapped[datetime] = mapped_column(primary_key=True)
    count: Mapped[int] = mapped_column(default=0)


class SettingRow(Row):
    """One setting of the hall, by name; secrets made at first run live here too."""

    __tablename__ = "setting"

    key: Mapped[str] = mapped_column(String(64), primary_key=True)
    value: Mapped[Any] = mapped_column(JSON)


class AuditRow(Row):
    """Who did what to whose data, when."""

    __tablename__ = "audit"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(index=True)
    account_id: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    act: Mapped[str] = mapped_column(String(64))
    subject: Mapped[str] = mapped_column(String(200), default="")
