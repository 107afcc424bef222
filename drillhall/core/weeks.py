"""The weeks of a year as ISO 8601 counts them: from Monday to Sunday, the first one being that of the year's first Thursday."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from drillhall.errors import Invalid
from drillhall.words import say

_WRITTEN: Final = re.compile(r"(\d{4})-?W(\d\d)", re.ASCII | re.IGNORECASE)
_DAY: Final = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
FIRST_YEAR, LAST_YEAR = 2000, 2199
"""Between these years a plan can be made."""


@dataclass(frozen=True, slots=True, order=True)
class Week:
    """A week by its ISO year and number, 1 to 52 or 53.

    Source: ISO 8601-1:2019, 3.1.1.23 and 4.3.9 (week dates); from memory.

    >>> Week.of(date(2027, 1, 3))
    Week(year=2026, number=53)
    """

    year: int
    number: int

    @staticmethod
    def of(day: date) -> Week:
        """Return the week that a day is in; its year is not always that of the day."""
        year, number, _ = day.isocalendar()
        return Week(year, number)

    @property
    def first_day(self) -> date:
        """Its Monday."""
        return date.fromisocalendar(self.year, self.number, 1)

    @property
    def last_day(self) -> date:
        """Its Sunday."""
        return self.first_day + timedelta(days=6)

    def __str__(self) -> str:
        """Return it as the standard writes it: 2031-W09."""
        return f"{self.year:04}-W{self.number:02}"


def weeks_in(year: int) -> int:
    """Return how many weeks an ISO year has: its last one holds 28 December.

    >>> weeks_in(2026), weeks_in(2031)
    (53, 52)
    """
    return Week.of(date(year, 12, 28)).number


def weeks_of(year: int) -> Iterator[Week]:
    """Yield the weeks of an ISO year in order."""
    return (Week(year, number) for number in range(1, weeks_in(year) + 1))


def same_week(week: Week, year: int) -> Week:
    """Return the week of another year with the same number; of a year without a 53rd the last one.

    >>> same_week(Week(2026, 53), 2027)
    Week(year=2027, number=52)
    """
    return Week(year, min(week.number, weeks_in(year)))


def read_week(typed: str, *, field: str, label: str) -> Week:
    """Return a week as it was typed, 2031-W09, 2031W09 or a day in it; raise Invalid naming the field where there is none like it."""
    numbers = _numbers_of(typed.strip())
    if numbers is None:
        raise Invalid(say("{label} must be a week, such as 2031-W09, or a day in it, such as 2031-03-01.", label=label), field=field)
    year, number = numbers
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise Invalid(
            say(
                "{label} lies too far away. Choose a year from {first_year} to {last_year}.",
                label=label,
                first_year=FIRST_YEAR,
                last_year=LAST_YEAR,
            ),
            field=field,
        )
    if not 1 <= number <= weeks_in(year):
        raise Invalid(
            say("{label}: {year} has {weeks_in} weeks. Choose one of them.", label=label, year=year, weeks_in=weeks_in(year)), field=field
        )
    return Week(year, number)


def _numbers_of(typed: str) -> tuple[int, int] | None:
    """Return the year and number of what was typed, whether there is such a week or not; None for what is neither week nor day."""
    if _DAY.fullmatch(typed):
        with suppress(ValueError):
            week = Week.of(date.fromisoformat(typed))
            return week.year, week.number
    written = _WRITTEN.fullmatch(typed)
    return (int(written[1]), int(written[2])) if written else None
