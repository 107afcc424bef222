"""The feed of an open question: each day's picture, and under it the answer of the day before."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from flask import make_response, render_template, url_for
from werkzeug.wrappers import Response as BaseResponse

from drillhall.post.feeds import MEDIA_TYPE, Entry, Feed, write_feed
from drillhall.practice.open_questions import asking, keeping
from drillhall.practice.open_questions.asking import Fell, OpenDay
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.web.open_questions.room import blueprint
from drillhall.web.session import now, outside_address, settings, store
from drillhall.words import joined, say, speak, speaking

DAYS: Final = 14
"""Days in the feed: longer than a reader's holiday, short enough to be fetched hourly."""
FRESH_SECONDS: Final = 900

Told = tuple[OpenDay, tuple[Fell, ...]]


@blueprint.get("/open/<public_id>/feed")
def feed(public_id: str) -> BaseResponse:
    """Send the feed of an open question, in the hall's language: one feed for all who read it."""
    with store().look() as db:
        found = keeping.the_question(db, public_id, at=now())
        stock = asking.the_stock(db, found)
        days = [day for back in range(DAYS + 1) if (day := asking.find_day(db, stock, found.today - timedelta(days=back)))]
        told = {shown.day: (shown, asking.how_the_day_fell(db, shown, found)) for shown in days}
    with speak(settings().language):
        response = make_response(write_feed(_feed(found, told)))
    response.headers.update({"Content-Type": MEDIA_TYPE, "Cache-Control": f"public, max-age={FRESH_SECONDS}"})
    return response


def _feed(found: OpenQuestion, told: dict[date, Told]) -> Feed:
    link = outside_address(url_for("open.question", public_id=found.public_id))
    entries = [_entry(found, shown, told.get(shown.day - timedelta(days=1)), link) for shown, _ in list(told.values())[:DAYS]]
    itself = outside_address(url_for("open.feed", public_id=found.public_id))
    updated = entries[0].updated if entries else _midnight(found, found.first_day)
    return Feed(found.feed_id, found.title, found.title, itself, link, updated, entries, speaking())


def _entry(found: OpenQuestion, shown: OpenDay, before: Told | None, link: str) -> Entry:
    """Return a day's entry. It asks of both forms in the same words: what tells its own answer comes with the next day's."""
    first, second = (joined(", ", filter(None, (form.name, form.wears))) for form in (shown.pair.first, shown.pair.second))
    html = render_template("open/entry.html", question=found, shown=shown, before=before, link=link, outside=outside_address)
    name, title = f"{found.feed_id}/{shown.day.isoformat()}", say("{first} or {second}?", first=first, second=second)
    return Entry(name, title.told(speaking()), _midnight(found, shown.day), link, html, rights=shown.picture.credit_short)


def _midnight(found: OpenQuestion, day: date) -> datetime:
    return datetime.combine(day, time(), ZoneInfo(found.zone))
