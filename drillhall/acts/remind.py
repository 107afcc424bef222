"""Reminds people of what their groups have set."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.acts.mail_links import REMINDER
from drillhall.post import outbox, sealing
from drillhall.post.mail import Block
from drillhall.post.office import Office
from drillhall.post.outbox import Envelope
from drillhall.practice import reminding
from drillhall.practice.reminding import Reminder, SetAhead


def remind(db: Session, office: Office, *, at: datetime) -> int:
    """Put a letter into the outbox for everybody whose turn it is, and return how many."""
    return sum(_write(db, office, one, at=at) for one in reminding.list_due(db, at=at) if reminding.take_turn(db, one, at=at))


def _write(db: Session, office: Office, reminder: Reminder, *, at: datetime) -> bool:
    stop = office.link(sealing.STOP_REMINDERS, reminder.public_id)
    envelope = Envelope(
        key=f"reminder {reminder.public_id} {at:%Y-%m-%d}",
        kind=REMINDER,
        address=reminder.address,
        account_id=reminder.account_id,
        unsubscribe=stop,
        until=at + reminding.EVERY / 2,
    )
    blocks = [
        Block(f"{reminder.name}, this is what your groups have set:"),
        *(Block(_said(one)) for one in reminder.sets),
        Block("Ten minutes a day are enough. Today's drill is here:", f"{office.public_url}/"),
        Block(
            "This letter goes to all alike who want it, at most once a week, whether they have begun or not. Nobody is told who gets it. "
            "To get no more of them:",
            stop,
        ),
    ]
    return outbox.put(db, envelope, "What your groups have set", blocks, public_url=office.public_url, at=at)


def _said(one: SetAhead) -> str:
    if one.for_day is None or one.days_left is None:
        return f"{one.title}, set by {one.group}, for no day in particular."
    left = {0: "today", 1: "tomorrow"}.get(one.days_left, f"in {one.days_left} days")
    return f"{one.title}, set by {one.group}, for {one.for_day:%A} {one.for_day.day} {one.for_day:%B}: {left}."
