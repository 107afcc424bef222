"""How long what is over is kept: spans that the keeper sets, short by default, and the forgetting of what is past them."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import delete, or_, select
from sqlalchemy.orm import Session

from drillhall.errors import Invalid
from drillhall.people import audit, limits, roster
from drillhall.people.person import Person
from drillhall.store.models.people import AccountRow, AttemptRow, AuditRow, InvitationRow, OneTimeLinkRow, SettingRow, SignInRow
from drillhall.store.models.rosters import RosterDraftRow
from drillhall.store.models.seasons import CalendarLinkRow
from drillhall.words import Said, say, say_n

SETTING: Final = "retention_days"
LONGEST_DAYS: Final = 3650


@dataclass(frozen=True, slots=True)
class Retention:
    """How many days each is kept: lines of the log of acts; sign-ins and links that are over; letters that went; closed accounts.

    The usual spans are common practice, no source: a year's worth of the log to look into what somebody complains of, and a
    school year and a summer for an account that was closed by mistake.
    """

    audit: int = 365
    sign_ins: int = 7
    letters: int = 30
    closed_accounts: int = 400

    def in_words(self) -> dict[str, Said]:
        """Return each span as one says it."""
        return {name: say_n("{n} day", "{n} days", days) for name, days in asdict(self).items()}


LABELS: Final = {
    "audit": say("Lines of the log of acts"),
    "sign_ins": say("Sign-ins and links that are over"),
    "letters": say("That a letter went"),
    "closed_accounts": say("Closed accounts, before they are erased"),
}


def the_retention(db: Session) -> Retention:
    """Return the hall's spans."""
    known = db.scalar(select(SettingRow.value).where(SettingRow.key == SETTING))
    names = {one.name for one in fields(Retention)}
    return Retention(**{name: days for name, days in known.items() if name in names}) if isinstance(known, dict) else Retention()


def set_retention(db: Session, spans: Retention, *, by: Person, at: datetime) -> None:
    """Set the hall's spans; raises Invalid, naming the field, where one is under a day or over ten years."""
    for name, days in asdict(spans).items():
        if not 1 <= days <= LONGEST_DAYS:
            raise Invalid(say("{label}: from 1 to {longest_days} days.", label=LABELS[name], longest_days=LONGEST_DAYS), field=name)
    db.merge(SettingRow(key=SETTING, value=asdict(spans)))
    audit.note(db, "retention set", at=at, by=by.id)


def forget_past(db: Session, *, at: datetime) -> None:
    """Forget the log, sign-ins, links, invitations, counted tries and class lists never confirmed that are past their spans."""
    spans = the_retention(db)
    over = at - timedelta(days=spans.sign_ins)
    db.execute(delete(AuditRow).where(AuditRow.at < at - timedelta(days=spans.audit)))
    db.execute(delete(SignInRow).where(SignInRow.until < over))
    db.execute(delete(OneTimeLinkRow).where(or_(OneTimeLinkRow.until < over, OneTimeLinkRow.used_at < over)))
    db.execute(delete(CalendarLinkRow).where(CalendarLinkRow.ended_at < over))
    db.execute(delete(InvitationRow).where(or_(InvitationRow.until < over, InvitationRow.ended_at < over)))
    db.execute(delete(AttemptRow).where(AttemptRow.window_start < at - limits.KEPT))
    db.execute(delete(RosterDraftRow).where(RosterDraftRow.made_at <= at - roster.KEPT))


def list_past_closing(db: Session, *, at: datetime) -> tuple[int, ...]:
    """Return the accounts that were closed so long ago that they are to be erased."""
    closed = at - timedelta(days=the_retention(db).closed_accounts)
    return tuple(db.scalars(select(AccountRow.id).where(AccountRow.retired_at < closed).order_by(AccountRow.id)))
