"""Writes a calendar. Source: RFC 5545 (sections 3.1 lines and folding, 3.3.11 text, 3.6.1 events), RFC 7986 (NAME, REFRESH-INTERVAL)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

MEDIA_TYPE: Final = "text/calendar; charset=utf-8"
LINE_BYTES: Final = 75
_NOT_TEXT: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f]")
"""Control signs, which section 3.1 keeps out of a line (a line end is written as a backslash and an n)."""


@dataclass(frozen=True, slots=True)
class Event:
    """Whole days, the same ones wherever somebody lives; `last_day` is in it, `sequence` counts its changes, `uid` stays for good.

    `is_busy`: whether it takes one's time up.
    """

    uid: str
    summary: str
    first_day: date
    last_day: date
    changed_at: datetime
    sequence: int = 0
    place: str = ""
    description: str = ""
    url: str = ""
    is_off: bool = False
    is_busy: bool = False


def write_calendar(name: str, events: Sequence[Event]) -> bytes:
    """Return a calendar as it goes over the wire; raise ValueError at a time without a zone or days the wrong way round."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//drillhall//season 1.0//EN",
        f"NAME:{_text(name)}",
        "REFRESH-INTERVAL;VALUE=DURATION:PT6H",
        *(line for event in events for line in _event(event)),
        "END:VCALENDAR",
    ]
    return b"".join(_folded(line) for line in lines)


def _event(event: Event) -> Iterator[str]:
    if event.changed_at.utcoffset() is None or event.last_day < event.first_day:
        raise ValueError("an event's time must say its zone, and its days must be in order")
    stamp = f"{event.changed_at.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(event.uid)}"
    yield f"DTSTAMP:{stamp}"
    yield f"LAST-MODIFIED:{stamp}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"DTSTART;VALUE=DATE:{event.first_day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{event.last_day + timedelta(days=1):%Y%m%d}"  # the end is the day after, by section 3.6.1
    yield f"SUMMARY:{_text(event.summary)}"
    if event.place:
        yield f"LOCATION:{_text(event.place)}"
    if event.description:
        yield f"DESCRIPTION:{_text(event.description)}"
    if event.url:
        yield f"URL:{event.url}"
    yield f"STATUS:{'CANCELLED' if event.is_off else 'CONFIRMED'}"
    yield f"TRANSP:{'OPAQUE' if event.is_busy and not event.is_off else 'TRANSPARENT'}"
    yield "CLASS:PRIVATE"
    yield "END:VEVENT"


def _text(words: str) -> str:
    escaped = words.replace("\r\n", "\n").replace("\r", "\n").replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return _NOT_TEXT.sub("", escaped.replace("\n", "\\n"))


def _folded(line: str) -> bytes:
    """Fold a line into pieces of at most 75 octets, never within a letter."""
    pieces, piece = [], b""
    for sign in line:
        letter = sign.encode()
        if len(piece) + len(letter) > LINE_BYTES:
            pieces.append(piece)
            piece = b" "
        piece += letter
    return b"\r\n".join([*pieces, piece]) + b"\r\n"
