"""The calendar of a group against RFC 5545: read back by the icalendar library, and the required properties asserted here.

The library takes an event without a UID without a word and keeps other faults in `errors`, so what the RFC requires is asserted by hand.
Sources: RFC 5545 sections 3.1 (75 octets, CRLF), 3.3.11 (escapes), 3.4 and 3.6 (VERSION, PRODID), 3.6.1 (UID, DTSTAMP, DTSTART; DTEND is
not in it; a DATE when DTSTART is one), 3.8.7.4 (SEQUENCE), 3.8.1.11 (STATUS); RFC 7986 sections 5.1 and 5.7; from memory.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.post.calendars import Event, write_calendar

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
OUTING = Event("u-1", "Spring tide", date(2031, 3, 30), date(2031, 3, 30), AT, 2, "8:30, the old quay; by the weighbridge", is_busy=True)
LESSON = Event("u-2", "Lesson: Stints", date(2031, 3, 17), date(2031, 3, 30), AT, description="One\nTwo, three", url="https://h.example/s")


def read(*events: Event) -> Any:
    return icalendar.Calendar.from_ical(write_calendar("Sluice, watchers", events))


def test_what_the_rfc_requires_is_there() -> None:
    raw = write_calendar("Sluice", [OUTING, LESSON]).decode()
    assert raw.endswith("END:VCALENDAR\r\n")
    assert "\n" not in raw.replace("\r\n", "")
    lines = raw.split("\r\n")
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    events = re.findall(r"BEGIN:VEVENT\r\n(.*?)END:VEVENT", raw, re.S)
    assert len(events) == 2
    for one in events:
        names = [re.split("[:;]", line)[0] for line in one.split("\r\n") if line and not line.startswith(" ")]
        for required in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"):
            assert names.count(required) == 1, required
        assert "DURATION" not in names, "DTEND or DURATION, never both"
        assert len(names) == len(set(names))
        assert re.search(r"^DTSTAMP:\d{8}T\d{6}Z\r$", one, re.M)


def test_the_library_reads_it_back_whole() -> None:
    calendar = read(OUTING, LESSON)
    assert calendar.errors == []
    assert b"\r\nNAME:Sluice\\, watchers\r\n" in write_calendar("Sluice, watchers", []), "of RFC 7986 the library knows no text"
    first, second = calendar.walk("VEVENT")
    assert first.errors == second.errors == []
    assert str(first["LOCATION"]) == "8:30, the old quay; by the weighbridge"
    assert str(second["DESCRIPTION"]) == "One\nTwo, three"
    assert (first["SEQUENCE"], first["STATUS"], first["TRANSP"], second["TRANSP"]) == (2, "CONFIRMED", "OPAQUE", "TRANSPARENT")
    assert (second.decoded("DTSTART"), second.decoded("DTEND")) == (date(2031, 3, 17), date(2031, 3, 31))
    assert second.decoded("DTSTAMP") == AT


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/Lisbon", date(2031, 3, 30), 23),  # the last Sunday of March (zone database)
        ("Europe/Lisbon", date(2031, 10, 26), 25),
        ("America/St_Johns", date(2031, 3, 9), 23),  # the second Sunday of March
        ("America/St_Johns", date(2031, 11, 2), 25),
    ],
)
def test_a_day_of_the_field_stays_that_one_day_where_clocks_change(zone: str, day: date, hours: int) -> None:
    """It is told as a date without a zone, so it begins and ends at midnight wherever it is read, however long the day is there."""
    (outing,) = read(Event("u", "Out", day, day, AT)).walk("VEVENT")
    begins, ends = outing.decoded("DTSTART"), outing.decoded("DTEND")
    assert (type(begins), begins, ends) == (date, day, day + timedelta(days=1))
    here = ZoneInfo(zone)
    span = datetime.combine(ends, time(), here).astimezone(UTC) - datetime.combine(begins, time(), here).astimezone(UTC)
    assert span == timedelta(hours=hours)


def test_what_is_called_off_keeps_its_name_and_says_so() -> None:
    (off,) = read(Event("u-1", "Out", date(2031, 3, 30), date(2031, 3, 30), AT, 3, is_off=True, is_busy=True)).walk("VEVENT")
    assert (str(off["UID"]), off["SEQUENCE"], off["STATUS"], off["TRANSP"]) == ("u-1", 3, "CANCELLED", "TRANSPARENT")


words = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=120)


@given(words, words)
def test_any_words_come_back_as_they_were_and_no_line_is_too_long(summary: str, place: str) -> None:
    raw = write_calendar("N", [Event("u", summary, AT.date(), AT.date(), AT, place=place)])
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    assert all(line.decode() is not None for line in raw.split(b"\r\n")), "no line ends within a letter"
    (event,) = icalendar.Calendar.from_ical(raw).walk("VEVENT")
    assert str(event["SUMMARY"]) == summary
    assert str(event.get("LOCATION", "")) == place


def test_signs_that_would_begin_a_line_of_their_own_do_not() -> None:
    (event,) = read(Event("u", "Out\r\nATTENDEE:x@y.example\x0bEND:VEVENT", AT.date(), AT.date(), AT)).walk("VEVENT")
    assert "ATTENDEE" not in event
    assert str(event["SUMMARY"]) == "Out\nATTENDEE:x@y.exampleEND:VEVENT"


def test_a_time_without_a_zone_and_days_the_wrong_way_round_are_refused() -> None:
    for wrong in (Event("u", "S", AT.date(), AT.date(), AT.replace(tzinfo=None)), Event("u", "S", AT.date(), date(2031, 3, 2), AT)):
        with pytest.raises(ValueError, match="zone"):
            write_calendar("N", [wrong])


def test_an_empty_calendar_is_read() -> None:
    assert list(read().walk("VEVENT")) == []
