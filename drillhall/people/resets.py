"""Tells somebody that her passphrase was reset on the machine that keeps the hall, until she has taken one of her own."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.store.models.people import AuditRow

OWN: Final = ("passphrase changed", "passphrase chosen")


def find_reset(db: Session, account_id: int) -> datetime | None:
    """Return when somebody's passphrase was last reset by nobody signed in, if she has taken none of her own since; else None.

    It is read from the audit log, so it is told as long as the log keeps it.
    """
    own = select(func.max(AuditRow.at)).where(AuditRow.account_id == account_id, AuditRow.act.in_(OWN))
    reset = select(func.max(AuditRow.at)).where(AuditRow.account_id.is_(None), AuditRow.act == "passphrase reset")
    chosen, given = db.scalar(own), db.scalar(reset.where(AuditRow.subject == f"account {account_id}"))
    return given if given is not None and (chosen is None or given > chosen) else None
