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
from drillhall.words import Said, locales, say, say_n
from drillhall.words.speaking import known_language


def remind(db: Session, office: Office, *, at: datetime) -> int:
    """Put a letter into the outbox for everybody whose turn it is, each in her own language, and return how many."""
    return sum(_write(db, office, one, at=at) for one in reminding.list_due(db, at=at) if reminding.take_turn(db, one, at=at))


def _write(db: Session, office: Office, reminder: Reminder, *, at: datetime) -> bool:
    stop, language = office.link(sealing.STOP_REMINDERS, reminder.public_id), known_language(reminder.language) or office.language
    envelope = Envelope(
        key=f"reminder {reminder.public_id} {at:%Y-%m-%d}",
        kind=REMINDER,
        address=reminder.address,
        account_id=reminder.account_id,
        unsubscribe=stop,
        until=at + reminding.EVERY / 2,
        language=language,
    )
    blocks = [
        Block(say("{name}, this is what your groups have set:", name=reminder.name)),
        *(Block(_said(one, language)) for one in reminder.sets),
        Block(say("Ten minutes a day are enough. Today's drill is here:"), f"{office.public_url}/"),
        Block(
            say(
                "This letter goes to all alike who want it, at most once a week, whether they have begun or not. "
                "Nobody is told who gets it. To get no more of them:"
            ),
            stop,
        ),
    ]
    return outbox.put(db, envelope, say("What your groups have set"), blocks, public_url=office.public_url, at=at)


def _said(one: SetAhead, language: str) -> Said:
    if one.for_day is None or one.days_left is None:
        return say("{title}, set by {group}, for no day in particular.", title=one.title, group=one.group)
    left = {0: say("today"), 1: say("tomorrow")}.get(one.days_left) or say_n("in {n} day", "in {n} days", one.days_left)
    day = locales.weekday_words(one.for_day, language, with_year=False)
    return say("{title}, set by {group}, for {day}: {left}.", title=one.title, group=one.group, day=day, left=left)
