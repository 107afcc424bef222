"""The audit log: who did what, when; never what was typed."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.people import AuditRow


def note(db: Session, act: str, *, at: datetime, by: int | None = None, subject: str = "") -> None:
    """Write one line: what was done (`act`), by whose account (None: by nobody signed in), to what."""
    db.add(AuditRow(at=at, account_id=by, act=act[:64], subject=subject[:200]))


def was_noted(db: Session, act: str, *, by: int, subject: str, at: datetime) -> bool:
    """Whether somebody did something to a thing within the last ten minutes: then a page may do what was written down."""
    since = AuditRow.at > at - timedelta(minutes=10)
    return (
        db.scalar(select(AuditRow.id).where(AuditRow.act == act, AuditRow.account_id == by, AuditRow.subject == subject, since)) is not None
    )
