"""An open question by mail: asked for by anybody, begun by the letter's own link, ended by it, and then forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from sqlalchemy import delete, func, or_, select, update
from sqlalchemy.orm import Session

from drillhall.core.addresses import read_address
from drillhall.errors import NotFound
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.post import SubscriptionRow
from drillhall.words import say

HOLDS: Final = timedelta(hours=48)
"""How long one has to confirm; what nobody confirmed is forgotten then."""
ASKED_AGAIN: Final = timedelta(hours=20)
"""Until then no second letter goes to an address that has not confirmed: anybody can type anybody's."""
FIRST_HOUR: Final = 6
"""From this hour of the question's day on it goes out."""


@dataclass(frozen=True, slots=True)
class Subscribed:
    """A subscription: where to, and the unguessable name that its links hang on."""

    id: int
    public_id: str
    address: str


def subscribe(db: Session, question: OpenQuestion, typed: str, *, public_id: str, at: datetime) -> Subscribed | None:
    """Keep an address, to be confirmed; return None where no letter is to go: it is subscribed already, or was asked for just now."""
    address = read_address(typed)
    db.execute(select(OpenQuestionRow.id).where(OpenQuestionRow.id == question.id).with_for_update())
    row = db.scalar(select(SubscriptionRow).where(SubscriptionRow.question_id == question.id, SubscriptionRow.address == address))
    if row is not None and (row.confirmed_at is not None or row.asked_at + ASKED_AGAIN > at):
        return None
    row = row or SubscriptionRow(question_id=question.id, address=address)
    row.public_id, row.asked_at = public_id, at
    db.add(row)
    db.flush()
    return _told(row)


def confirm(db: Session, public_id: str, *, at: datetime) -> None:
    """Begin a subscription, or raise NotFound where its time is over; twice is no fault."""
    row = db.scalar(select(SubscriptionRow).where(SubscriptionRow.public_id == public_id))
    if row is None or (row.confirmed_at is None and row.asked_at + HOLDS < at):
        raise NotFound(say("This link is over: two days have passed, or the subscription was ended. Ask for the mail once more."))
    row.confirmed_at = row.confirmed_at or at


def stop(db: Session, public_id: str) -> None:
    """End a subscription and forget its address, with every letter that waits for it; one that is over is no fault."""
    db.execute(delete(SubscriptionRow).where(SubscriptionRow.public_id == public_id))


def find_question(db: Session, subscription_id: int) -> str:
    """Return the name in addresses of the question that a subscription is of, empty where it is over."""
    query = select(OpenQuestionRow.public_id).join(SubscriptionRow, SubscriptionRow.question_id == OpenQuestionRow.id)
    return db.scalar(query.where(SubscriptionRow.id == subscription_id)) or ""


def end_refused(db: Session, subscription_id: int) -> None:
    """End a subscription whose address is refused for good, with every letter that waits for it."""
    db.execute(delete(SubscriptionRow).where(SubscriptionRow.id == subscription_id))


def forget_unconfirmed(db: Session, *, at: datetime) -> None:
    """Forget what nobody confirmed in time, and every address of a question that has ended."""
    db.execute(delete(SubscriptionRow).where(SubscriptionRow.confirmed_at.is_(None), SubscriptionRow.asked_at < at - HOLDS))
    ended = select(OpenQuestionRow.id).where(OpenQuestionRow.ended_at.is_not(None))
    db.execute(delete(SubscriptionRow).where(SubscriptionRow.question_id.in_(ended)))


def count_subscribed(db: Session, question: OpenQuestion) -> int:
    """Return to how many addresses a question goes."""
    confirmed = SubscriptionRow.confirmed_at.is_not(None)
    return db.scalar(select(func.count(SubscriptionRow.id)).where(SubscriptionRow.question_id == question.id, confirmed)) or 0


def list_asked(db: Session, *, at: datetime) -> tuple[str, ...]:
    """Return the questions, by their name in addresses, that are to go to somebody now."""
    query = (
        select(OpenQuestionRow.public_id, OpenQuestionRow.zone, SubscriptionRow.mailed_day)
        .join(SubscriptionRow, SubscriptionRow.question_id == OpenQuestionRow.id)
        .where(SubscriptionRow.confirmed_at.is_not(None), OpenQuestionRow.ended_at.is_(None))
        .distinct()
    )
    found = set()
    for public_id, zone, mailed_day in db.execute(query):
        here = at.astimezone(ZoneInfo(zone))
        if here.hour >= FIRST_HOUR and (mailed_day is None or mailed_day < here.date()):
            found.add(public_id)
    return tuple(sorted(found))


def take_turns(db: Session, question: OpenQuestion) -> tuple[Subscribed, ...]:
    """Write down that today's question goes to all who have not had it, and return them; of two workers one gets each."""
    row = SubscriptionRow
    due = or_(row.mailed_day.is_(None), row.mailed_day < question.today)
    mine = update(row).where(row.question_id == question.id, row.confirmed_at.is_not(None), due).values(mailed_day=question.today)
    return tuple(Subscribed(*found) for found in db.execute(mine.returning(row.id, row.public_id, row.address)))


def _told(row: SubscriptionRow) -> Subscribed:
    return Subscribed(row.id, row.public_id, row.address)
