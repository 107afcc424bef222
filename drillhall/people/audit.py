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
from drillhall.words import Said, say

ON_OTHERS: Final = (
    say("account closed"),
    say("brought back"),
    say("catalogue imported"),
    say("class list confirmed"),
    say("concepts joined"),
    say("concepts parted"),
    say("export made"),
    say("field test called off"),
    say("field test released"),
    say("field test set"),
    say("field test shut"),
    say("group archived"),
    say("group opened again"),
    say("hall joined by invitation"),
    say("hall opened to all"),
    say("invitation ended"),
    say("invitation made"),
    say("label corrected"),
    say("label correction undone"),
    say("learning records taken"),
    say("least age set"),
    say("made leader"),
    say("made teacher"),
    say("membership ended"),
    say("passphrase reset"),
    say("person erased"),
    say("picture accepted"),
    say("picture declined"),
    say("picture taken out"),
    say("report taken"),
    say("results taken"),
    say("retention set"),
    say("second step demanded"),
    say("second step no longer demanded"),
    say("second step taken off"),
    say("secret moved"),
    say("secret renewed"),
    say("steward added"),
    say("steward removed"),
    say("time given"),
)
"""Acts on what is others', or on the hall; every other act is somebody's own."""

OWN: Final = (
    say("account made"),
    say("code refused"),
    say("copied passkey refused"),
    say("group left"),
    say("keeper made"),
    say("no longer leader"),
    say("no longer teacher"),
    say("passkey made"),
    say("passkey refused"),
    say("passkey taken off"),
    say("passphrase changed"),
    say("passphrase chosen"),
    say("second step turned off"),
    say("second step turned on"),
    say("sign-in refused"),
    say("signed in"),
    say("signed in by a link"),
    say("signed in by a passkey"),
    say("signed in with a second step"),
    say("signed out"),
    say("spare code used"),
    say("spare codes made anew"),
)
"""Acts on one's own account."""

IN_WORDS: Final[dict[str, Said]] = {str(act): act for act in (*ON_OTHERS, *OWN)}
"""An act, as it is written down, and its words."""

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
    return tuple(Noted(row.id, row.at, in_words(row.act), name or "", _named(row.subject, names, titles)) for row, name in rows)


def in_words(act: str) -> str:
    """Return the words for an act, or the act itself where it is one of an older hall."""
    return IN_WORDS.get(act, act)


def _numbers(what: re.Pattern[str], rows: list[AuditRow]) -> set[int]:
    return {int(number) for row in rows for number in what.findall(row.subject)}


def _named(subject: str, names: dict[str, str], titles: dict[str, str]) -> str:
    told = _ACCOUNT.sub(lambda found: names.get(found[1], found[0]), subject)
    return _GROUP.sub(lambda found: titles.get(found[1], found[0]), told)
