"""How days and times read on a page, in the zone of whoever reads."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from flask import Flask

from drillhall.web.session import find_person, now


def init_app(app: Flask) -> None:
    """Give templates the filters `day`, `moment` and `date_words`."""
    app.add_template_filter(day)
    app.add_template_filter(date_words)
    app.add_template_filter(moment)


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


def _here(at: datetime) -> datetime:
    person = find_person()
    return at.astimezone(ZoneInfo(person.zone if person else "UTC"))
