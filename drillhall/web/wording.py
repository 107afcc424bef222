"""How days and times read on a page, in the zone and the language of whoever reads."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from flask import Flask

from drillhall.web.session import find_person, now
from drillhall.words import locales, speaking, within


def init_app(app: Flask) -> None:
    """Give templates the filters `day`, `date_words`, `day_of_week`, `moment`, `short_day`, `weekday` and `within`."""
    app.add_template_filter(day)
    app.add_template_filter(date_words)
    app.add_template_filter(day_of_week)
    app.add_template_filter(moment)
    app.add_template_filter(short_day)
    app.add_template_filter(weekday)
    app.add_template_filter(within)


def day(at: datetime) -> str:
    """Return a day as one says it: 3 May, with the year when it is not this one."""
    here = _here(at).date()
    return locales.day_words(here, speaking()) if here.year == _here(now()).year else locales.date_words(here, speaking())


def date_words(on: date) -> str:
    """Return a date as one says it, whoever reads: 3 May 2031."""
    return locales.date_words(on, speaking())


def day_of_week(on: date) -> str:
    """Return a day of the weeks around by its name and its number: Sunday 6."""
    return locales.day_of_week(on, speaking())


def moment(at: datetime) -> str:
    """Return a day and the time of day."""
    return f"{day(at)}, {locales.time_words(_here(at), speaking())}"


def short_day(on: date) -> str:
    """Return a day as short as it goes, for a table: 3 Sept."""
    return locales.short_day(on, speaking())


def weekday(on: date) -> str:
    """Return a day of the calendar, whose zone does not matter: Sunday 6 September, with the year when it is not this one."""
    return locales.weekday_words(on, speaking(), with_year=on.year != _here(now()).year)


def _here(at: datetime) -> datetime:
    person = find_person()
    return at.astimezone(ZoneInfo(person.zone if person else "UTC"))
