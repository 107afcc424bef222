"""Marks by which the log of refusals puts one person's tries together without naming her."""

from __future__ import annotations

import hmac
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people import hall
from drillhall.store.models.people import AccountRow
from drillhall.words import say

LENGTH: Final = 16
"""Signs in base 16: among 10,000 people two have the same one in one hall of 3.7 * 10^11."""


def mark_of(db: Session, account_id: int) -> str:
    """Return somebody's mark, or empty where there is no such account.

    It is a hash under the hall's secret of her passphrase's hash, in which there is salt: the same until she takes another passphrase,
    and once her account is erased nobody can make it again, not even with the secret.
    """
    kept = db.scalar(select(AccountRow.passphrase_hash).where(AccountRow.id == account_id))
    return _mark(hall.the_secret_key(db), account_id, kept) if kept is not None else ""


def the_marked(db: Session, mark: str) -> str:
    """Return the name of whoever a mark stands for, or raise NotFound."""
    key = hall.the_secret_key(db)
    for account_id, name, kept in db.execute(select(AccountRow.id, AccountRow.name, AccountRow.passphrase_hash)):
        if hmac.compare_digest(_mark(key, account_id, kept).encode(), mark.encode("utf-8", "surrogatepass")):
            return str(name)
    raise NotFound(say("That mark is nobody's: she was erased, has taken another passphrase since, or it was copied wrong."))


def _mark(key: str, account_id: int, kept: str) -> str:
    return hmac.digest(key.encode(), f"mark in the log {account_id} {kept}".encode(), "sha256").hex()[:LENGTH]
