"""The audit log: who did what, when; never what was typed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.store.models.groups import GroupRow
from drillhall.store.models.people import AccountRow, AuditRow

ON_OTHERS: Final = (
    "account closed",
    "brought back",
    "catalogue imported",
    "class list confirmed",
    "export made",
    "field test called off",
    "field test released",
    "field test set",
    "field test shut",
    "group archived",
    "group opened again",
    "hall joined by invitation",
    "hall opened to all",
    "invitation ended",
    "invitation made",
    "label corrected",
    "label correction undone",
    "learning records taken",
    "made leader",
    "made teacher",
    "membership ended",
    "passphrase reset",
    "person erased",
    "picture accepted",
    "picture declined",
    "picture taken out",
    "report taken",
    "results taken",
    "retention set",
    "second step taken off",
    "steward added",
    "steward removed",
    "time given",
)
"""Acts on what is others', or on the hall; every other act is somebody's own."""

OWN: Final = (
    "account made",
    "code refused",
    "group left",
    "keeper made",
    "no longer leader",
    "no longer teacher",
    "passphrase changed",
    "passphrase chosen",
    "second step turned off",
    "second step turned on",
    "sign-in refused",
    "signed in",
    "signed out",
    "spare code used",
    "spare codes made anew",
)
"""Acts on one's own account."""

PAGE: Final = 50
_ACCOUNT, _GROUP = re.compile(r"\baccount (\d+)\b"), re.compile(r"\bgroup (\d+)\b")


@dataclass(frozen=True, slots=True)
class Noted:
    """One line: when, what was done, by whom (empty: nobody who is known here), and to what, with names in the place of numbers."""

    id: int
    at: datetime
    act: str
    by: str
    subject: str


def note(db: Session, act: str, *, at: datetime, by: int | None = None, subject: str = "") -> None:
    """Write one line: what was done (`act`), by whose account (None: by nobody signed in), to what."""
    db.add(AuditRow(at=at, account_id=by, act=act[:64], subject=subject[:200]))


def was_noted(db: Session, act: str, *, by: int, subject: str, at: datetime) -> bool:
    """Whether somebody did something to a thing within the last ten minutes: then a page may do what was written down."""
    since = AuditRow.at > at - timedelta(minutes=10)
    return (
        db.scalar(select(AuditRow.id).where(AuditRow.act == act, AuditRow.account_id == by, AuditRow.subject == subject, since)) is not None
    )


def list_noted(db: Session, *, act: str = "", before: int | None = None) -> tuple[Noted, ...]:
    """Return a page of lines, the latest first: of one act or (empty) of all, from before a line on; three statements."""
    query = select(AuditRow, AccountRow.name).outerjoin(AccountRow, AccountRow.id == AuditRow.account_id)
    if act:
        query = query.where(AuditRow.act == act)
    if before is not None:
        query = query.where(AuditRow.id < before)
    rows = db.execute(query.order_by(AuditRow.id.desc()).limit(PAGE)).all()
    people = _numbers(_ACCOUNT, [row for row, _ in rows])
    groups = _numbers(_GROUP, [row for row, _ in rows])
    names = {str(id_): name for id_, name in db.execute(select(AccountRow.id, AccountRow.name).where(AccountRow.id.in_(people)))}
    titles = {str(id_): title for id_, title in db.execute(select(GroupRow.id, GroupRow.title).where(GroupRow.id.in_(groups)))}
    return tuple(Noted(row.id, row.at, row.act, name or "", _named(row.subject, names, titles)) for row, name in rows)


def _numbers(what: re.Pattern[str], rows: list[AuditRow]) -> set[int]:
    return {int(number) for row in rows for number in what.findall(row.subject)}


def _named(subject: str, names: dict[str, str], titles: dict[str, str]) -> str:
    told = _ACCOUNT.sub(lambda found: names.get(found[1], found[0]), subject)
    return _GROUP.sub(lambda found: titles.get(found[1], found[0]), told)
