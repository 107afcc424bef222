"""Writes the calendar of a group for whoever has a link to it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Final
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy.orm import Session

from drillhall.people.calendar_links import Subscribed, the_subscribed
from drillhall.post.calendars import Event, write_calendar
from drillhall.practice.cautioning import cautions_of_sets
from drillhall.practice.outings import GroupOuting, list_outings
from drillhall.practice.seasons import KINDS, Entry, list_entries
from drillhall.words import joined, say, speaking
from drillhall.words.speaking import known_language

LOOKS_BACK: Final = timedelta(days=366)


def group_calendar(db: Session, token: str, *, public_url: str, at: datetime) -> bytes:
    """Return the calendar that a token leads to, from a year ago on, or raise NotFound.

    It is in the language of the account that the link is of.
    """
    group = the_subscribed(db, token)
    since = (at - LOOKS_BACK).date()
    url = f"{public_url}/groups/{group.public_id}/season"
    planned = [one for one in list_outings(db, group.group_id) if one.day >= since]
    cautions = cautions_of_sets(db, [one.pair_set_id for one in planned], "print")
    outings = [_outing(group, one, url, cautions) for one in planned]
    entries = [_entry(group, one, url) for one in list_entries(db, group.group_id) if one.last.last_day >= since]
    return write_calendar(group.title, sorted([*outings, *entries], key=_in_order))


def _outing(group: Subscribed, one: GroupOuting, url: str, cautions: tuple[str, ...]) -> Event:
    return Event(
        uid=_uid(group, f"outing {one.id}"),
        summary=one.title,
        first_day=one.day,
        last_day=one.day,
        changed_at=one.changed_at,
        sequence=one.changes,
        place=one.place,
        description=joined("\n", (say("It prepares for {title}.", title=one.set_title), *cautions)).told(_language(group)),
        url=url,
        is_off=one.off_at is not None,
        is_busy=True,
    )


def _entry(group: Subscribed, one: Entry, url: str) -> Event:
    return Event(
        uid=_uid(group, f"entry {one.id}"),
        summary=joined(": ", (KINDS[one.kind], one.says)).told(_language(group)),
        first_day=one.first.first_day,
        last_day=one.last.last_day,
        changed_at=one.changed_at,
        sequence=one.changes,
        url=url,
    )


def _language(group: Subscribed) -> str:
    return known_language(group.language) or speaking()


def _uid(group: Subscribed, what: str) -> str:
    """Return a name that stays for good: it hangs on nothing that may change, such as the hall's address."""
    return str(uuid5(NAMESPACE_URL, f"drillhall {group.public_id} {what}"))


def _in_order(event: Event) -> tuple[date, str]:
    return event.first_day, event.uid
