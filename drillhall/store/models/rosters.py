"""The list of a class: who stands on it, a new list that waits to be confirmed, and passphrases that were given to somebody."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import JSON, ForeignKey, Index, String, text
from sqlalchemy.orm import Mapped, mapped_column

from drillhall.store.base import Row


class RosterPlaceRow(Row):
    """Somebody's place on the list of a class, kept while she rests: `code` is the school's own, `listed_as` her name on it, folded.

    `made_here`: her account was made for the list.
    """

    __tablename__ = "roster_place"
    __table_args__ = (
        Index(
            "uq_roster_place_code",
            "group_id",
            "code",
            unique=True,
            sqlite_where=text("code <> ''"),
            postgresql_where=text("code <> ''"),
        ),
    )

    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True, index=True)
    code: Mapped[str] = mapped_column(String(255), default="")
    listed_as: Mapped[str] = mapped_column(String(120))
    made_here: Mapped[bool] = mapped_column(default=False)


class RosterDraftRow(Row):
    """A list that was read and waits to be confirmed, at most one a class: `entries` are pairs of name and code, and nothing else of it."""

    __tablename__ = "roster_draft"

    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), primary_key=True)
    made_by: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), index=True)
    made_at: Mapped[datetime]
    entries: Mapped[list[list[str]]] = mapped_column(JSON)


class GivenPassphraseRow(Row):
    """A passphrase that somebody was given and has not yet replaced by one of her own; until `is_made` nobody can sign in with it.

    `batch` marks the key from which it was drawn, which the hall does not keep; `is_first`: she never had another.
    """

    __tablename__ = "given_passphrase"

    account_id: Mapped[int] = mapped_column(ForeignKey("account.id", ondelete="CASCADE"), primary_key=True)
    group_id: Mapped[int] = mapped_column(ForeignKey("group.id", ondelete="CASCADE"), index=True)
    given_by: Mapped[int | None] = mapped_column(ForeignKey("account.id", ondelete="SET NULL"), index=True)
    batch: Mapped[str] = mapped_column(String(64))
    at: Mapped[datetime]
    until: Mapped[datetime]
    is_made: Mapped[bool] = mapped_column(default=False)
    is_first: Mapped[bool] = mapped_column(default=False)
