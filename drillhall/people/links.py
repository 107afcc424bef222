"""Links that work once: to the first run of a hall, and to step in as somebody of the demo hall."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ColumnElement, delete, select, update
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people.tokens import hash_token, make_token
from drillhall.store.models.people import OneTimeLinkRow
from drillhall.words import say

FIRST_RUN = "first run"
STEP_IN = "step in"


def make_link(db: Session, purpose: str, *, until: datetime, account_id: int | None = None) -> str:
    """Make a link for one purpose and return its token; earlier ones for the same purpose and account end."""
    earlier = OneTimeLinkRow.account_id.is_(None) if account_id is None else OneTimeLinkRow.account_id == account_id
    db.execute(delete(OneTimeLinkRow).where(OneTimeLinkRow.purpose == purpose, earlier))
    token = make_token()
    db.add(OneTimeLinkRow(token_hash=hash_token(token), account_id=account_id, purpose=purpose, until=until))
    db.flush()
    return token


def the_link_account(db: Session, purpose: str, token: str, *, at: datetime) -> int | None:
    """Return whose link it is (None: nobody's) without using it, or raise NotFound when it is used, over or unknown."""
    link = db.execute(select(OneTimeLinkRow.account_id).where(*_good(purpose, token, at))).one_or_none()
    if link is None:
        raise NotFound(
            say(
                "This link does not work, or no longer: it was used, it is over, or it was copied short. Ask for a "
                "new one where you got it."
            )
        )
    account_id: int | None = link.account_id
    return account_id


def use_link(db: Session, purpose: str, token: str, *, at: datetime) -> int | None:
    """Use a link up and return whose it is, or raise NotFound; of two who come at once, one gets in."""
    account_id = the_link_account(db, purpose, token, at=at)
    used = db.execute(update(OneTimeLinkRow).where(*_good(purpose, token, at)).values(used_at=at).returning(OneTimeLinkRow.id))
    if used.one_or_none() is None:
        raise NotFound(say("This link was used just now, on another page. Ask for a new one where you got it."))
    return account_id


def _good(purpose: str, token: str, at: datetime) -> tuple[ColumnElement[bool], ...]:
    row = OneTimeLinkRow
    return row.token_hash == hash_token(token), row.purpose == purpose, row.used_at.is_(None), row.until > at
