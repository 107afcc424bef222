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
from drillhall.words import Said, joined, say, within


def mail_open_questions(db: Session, office: Office, *, at: datetime) -> int:
    """Put today's question into the outbox for everybody who is to have it, and return how many letters that are.

    They are in the hall's language: whoever asked for them need have no account.
    """
    return sum(_mail_one(db, office, public_id, at=at) for public_id in subscribing.list_asked(db, at=at))


def _mail_one(db: Session, office: Office, public_id: str, *, at: datetime) -> int:
    try:
        question, shown = asking.open_today(db, public_id, at=at)
    except NotFound:  # nothing that the public may be shown today; tomorrow is another day
        return 0
    before = asking.find_day(db, asking.the_stock(db, question), question.today - timedelta(days=1))
    content = _content(db, office, question, shown, before)
    title = joined(": ", (question.title, _asked(shown)))
    return sum(_put(db, office, question, shown, one, title, content, at) for one in subscribing.take_turns(db, question))


def _put(
    db: Session, office: Office, question: OpenQuestion, shown: OpenDay, to: Subscribed, title: Said, content: list[Block], at: datetime
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
        language=office.language,
    )
    return outbox.put(db, envelope, title, [*content, Block(say("To get this mail no more:"), stop)], public_url=office.public_url, at=at)


def _content(db: Session, office: Office, question: OpenQuestion, shown: OpenDay, before: OpenDay | None) -> list[Block]:
    """Return what everybody is sent; it asks of both forms in the same words, and tells only what was asked the day before."""
    link = f"{office.public_url}/open/{question.public_id}"
    picture = shown.picture
    credit = joined(", ", [part for part in (picture.credit_short, picture.changed) if part])
    return [
        Block(picture.alt, link, is_picture=True),
        Block(say("{asked} Say which; what it is comes with tomorrow's picture:", asked=_asked(shown)), link),
        *([Block(say("There are several on the picture. Which one is meant is ringed on the page."))] if picture.subject else []),
        Block(joined("", (credit, f" ({picture.licence_url})" if picture.licence_url else "", "."))),
        *(Block(line) for line in shown.banners),
        *_told(db, question, before, link),
    ]


def _told(db: Session, question: OpenQuestion, before: OpenDay | None, link: str) -> list[Block]:
    if before is None:
        return []
    right = next((one for one in asking.how_the_day_fell(db, before, question) if one.is_right and one.shown), None)
    trait = before.told.trait
    told: list[Said] = [say("Yesterday's picture: {form}.", form=_named(before.truth))]
    if trait:
        told.append(joined("", (say("Decides") if before.told.decides else say("Helps"), ": ", within(trait.label), ".")))
    if right:
        told.append(say("{times} of {shown} said so.", times=right.times, shown=right.shown))
    return [Block(joined(" ", [*told, say("See why:")]), f"{link}/{before.day.isoformat()}")]


def _asked(shown: OpenDay) -> Said:
    return say("{first} or {second}?", first=_named(shown.pair.first), second=_named(shown.pair.second))


def _named(form: Form) -> Said:
    return joined(", ", (form.name, form.wears) if form.wears else (form.name,))
