"""Sends each day's open question to those who asked for it by mail."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.errors import NotFound
from drillhall.post import outbox, sealing
from drillhall.post.mail import Block
from drillhall.post.office import Office
from drillhall.post.outbox import Envelope
from drillhall.practice.open_questions import asking, subscribing
from drillhall.practice.open_questions.asking import OpenDay
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.practice.open_questions.subscribing import Subscribed


def mail_open_questions(db: Session, office: Office, *, at: datetime) -> int:
    """Put today's question into the outbox for everybody who is to have it, and return how many letters that are."""
    return sum(_mail_one(db, office, public_id, at=at) for public_id in subscribing.list_asked(db, at=at))


def _mail_one(db: Session, office: Office, public_id: str, *, at: datetime) -> int:
    try:
        question, shown = asking.open_today(db, public_id, at=at)
    except NotFound:  # nothing that the public may be shown today; tomorrow is another day
        return 0
    before = asking.find_day(db, asking.the_stock(db, question), question.today - timedelta(days=1))
    content = _content(db, office, question, shown, before)
    title = f"{question.title}: {_named(shown.pair.first)} or {_named(shown.pair.second)}?"
    return sum(_put(db, office, question, shown, one, title, content, at) for one in subscribing.take_turns(db, question))


def _put(
    db: Session, office: Office, question: OpenQuestion, shown: OpenDay, to: Subscribed, title: str, content: list[Block], at: datetime
) -> bool:
    stop = office.link(sealing.STOP_QUESTION, to.public_id)
    envelope = Envelope(
        key=f"question {to.public_id} {shown.day}",
        kind="open question",
        address=to.address,
        subscription_id=to.id,
        unsubscribe=stop,
        picture=shown.picture.public_id,
        recipe=min(shown.picture.sizes, key=lambda size: size.width_px).recipe,
        until=datetime.combine(question.today + timedelta(days=1), time(), ZoneInfo(question.zone)),
    )
    return outbox.put(db, envelope, title, [*content, Block("To get this mail no more:", stop)], public_url=office.public_url, at=at)


def _content(db: Session, office: Office, question: OpenQuestion, shown: OpenDay, before: OpenDay | None) -> list[Block]:
    """Return what everybody is sent; it asks of both forms in the same words, and tells only what was asked the day before."""
    link = f"{office.public_url}/open/{question.public_id}"
    picture = shown.picture
    credit = ", ".join(part for part in (picture.credit_short, picture.changed) if part)
    return [
        Block(picture.alt, link, is_picture=True),
        Block(
            f"{_named(shown.pair.first)} or {_named(shown.pair.second)}? Say which; what it is comes with tomorrow's picture:",
            link,
        ),
        *([Block("There are several on the picture. Which one is meant is ringed on the page.")] if picture.subject else []),
        Block(f"{credit}{f' ({picture.licence_url})' if picture.licence_url else ''}."),
        *(Block(line) for line in shown.banners),
        *_told(db, question, before, link),
    ]


def _told(db: Session, question: OpenQuestion, before: OpenDay | None, link: str) -> list[Block]:
    if before is None:
        return []
    right = next((one for one in asking.how_the_day_fell(db, before, question) if one.is_right and one.shown), None)
    trait = before.told.trait
    decides = f" {'Decides' if before.told.decides else 'Helps'}: {trait.label[0].lower()}{trait.label[1:]}." if trait else ""
    fell = f" {right.times} of {right.shown} said so." if right else ""
    return [Block(f"Yesterday's picture: {_named(before.truth)}.{decides}{fell} See why:", f"{link}/{before.day.isoformat()}")]


def _named(form: Form) -> str:
    return f"{form.name}, {form.wears}" if form.wears else form.name
