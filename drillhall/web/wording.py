"""How days and times read on a page, in the zone of whoever reads."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from flask import Flask

from drillhall.web.session import find_person, now


def init_app(app: Flask) -> None:
    """Give templates the filters `day`, `date_words`, `moment` and `weekday`."""
    app.add_template_filter(day)
    app.add_template_filter(date_words)
    app.add_template_filter(moment)
    app.add_template_filter(weekday)


def day(at: datetime) -> str:
    """Return a day as one says it: 3 May, with the year when it is not this one."""
    here = _here(at)
    said = f"{here.day} {here:%B}"
    return said if here.year == _here(now()).year else f"{said} {here.year}"


def date_words(on: date) -> str:
    """Return a date as one says it, whoever reads: 3 May 2031."""
    return f"{on.day} {on:%B} {on.year}"


def moment(at: datetime) -> str:
    """Return a day and the time of day."""
    return f"{day(at)}, {_here(at):%H:%M}"


def weekday(on: date) -> str:
    """Return a day of the calendar, whose zone does not matter: Sunday 6 September, with the year when it is not this one."""
    said = f"{on:%A} {on.day} {on:%B}"
    return said if on.year == _here(now()).year else f"{said} {on.year}"


def _here(at: datetime) -> datetime:
    person = find_person()
    return at.astimezone(ZoneInfo(person.zone if person else "UTC"))
