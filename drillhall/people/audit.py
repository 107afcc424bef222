"""The audit log: who did what, when; never what was typed."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.store.models.people import AuditRow


def note(db: Session, act: str, *, at: datetime, by: int | None = None, subject: str = "") -> None:
    """Write one line: what was done (`act`), by whose account (None: by nobody signed in), to what."""
    db.add(AuditRow(at=at, account_id=by, act=act[:64], subject=subject[:200]))
