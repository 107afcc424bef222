"""Dates, numbers and lists as a language writes them, by the Unicode CLDR data in Babel; English is British."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from functools import cache
from typing import Final, Literal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton, match_skeleton
from babel.lists import format_list
from babel.numbers import get_decimal_symbol, get_group_symbol
from babel.units import format_unit

_AS_WRITTEN: Final = {"en": "en-GB"}
_UNITS: Final = ("digital-byte", "digital-kilobyte", "digital-megabyte", "digital-gigabyte", "digital-terabyte")


@cache
def locale_of(language: str) -> Locale:
    """Return what is known of a language: its names of months, its signs, which way it is written."""
    return Locale.parse(_AS_WRITTEN.get(language, language), sep="-")


def direction(language: str) -> str:
    """Return "ltr" or "rtl": the way in which a language is written."""
    return str(locale_of(language).text_direction)


def language_words(tag: str, language: str) -> str:
    """Return what a language calls the one that a tag means: German, for de; the tag where nothing is known of it."""
    try:
        return Locale.parse(tag, sep="-").get_display_name(_AS_WRITTEN.get(language, language).replace("-", "_")) or tag
    except (UnknownLocaleError, ValueError):
        return tag


def day_words(on: date, language: str) -> str:
    """Return a day without its year: 3 May."""
    return _by_skeleton(on, "MMMMd", language)


def date_words(on: date, language: str) -> str:
    """Return a day with its year: 3 May 2031."""
    return _by_skeleton(on, "yMMMMd", language)


def weekday_words(on: date, language: str, *, with_year: bool) -> str:
    """Return a day with its name: Sunday 6 September, with the year where it is asked for."""
    return str(format_date(on, _weekday_pattern(language, with_year), locale=locale_of(language)))


def day_of_week(on: date, language: str) -> str:
    """Return a day of these weeks by its name and its number: Sunday 6."""
    locale = locale_of(language)
    return str(format_date(on, re.sub(r"[Ec]+", "EEEE", locale.datetime_skeletons["Ed"].pattern), locale=locale))


def short_day(on: date, language: str) -> str:
    """Return a day as short as it goes: 3 Sept."""
    return _by_skeleton(on, "MMMd", language)


def time_words(at: datetime, language: str) -> str:
    """Return a time of the day by 24 hours: 09:05."""
    return _by_skeleton(at, "Hm", language)


def number_as(number: float, spec: str, language: str) -> str:
    """Return a number in a form of Python's (".1f", ",", "+.1f") with the signs of a language.

    >>> number_as(1234.5, ",.1f", "de")
    '1.234,5'
    """
    locale = locale_of(language)
    signs = {".": str(get_decimal_symbol(locale)), ",": str(get_group_symbol(locale))}
    return re.sub("[.,]", lambda found: signs[found.group()], format(number, spec))


def bytes_words(count: int, language: str) -> str:
    """Return how much so many bytes are, in the largest unit that fits, a thousand of the one before.

    >>> bytes_words(1_400_000, "de"), bytes_words(999, "en")
    ('1,4 MB', '999 bytes')
    """
    place = min(len(_UNITS) - 1, (len(str(count)) - 1) // 3)
    length: Literal["short", "long"] = "short" if place else "long"  # CLDR's short byte is a sign of the unit, and knows no plural
    return str(format_unit(round(count / 1000**place, 1), _UNITS[place], length, locale=locale_of(language)))


def listed(words: list[str], language: str) -> str:
    """Return words as a language lists them: a, b and c."""
    return str(format_list(words, "standard", locale_of(language)))


@cache
def plural_examples(language: str) -> dict[str, int]:
    """Return for each plural category of a language (CLDR: one, few, many, other ...) the least count that is in it."""
    rule = locale_of(language).plural_form
    return {rule(count): count for count in reversed(range(201))}


def _by_skeleton(value: date | datetime, skeleton: str, language: str) -> str:
    # Babel takes a day for a moment of UTC, and a moment without a zone for what a clock on the wall shows.
    at = value.replace(tzinfo=None) if isinstance(value, datetime) else datetime.combine(value, time())
    return str(format_skeleton(skeleton, at, locale=locale_of(language)))


@cache
def _weekday_pattern(language: str, with_year: bool) -> str:
    """Return how a language writes a day with its name; the patterns that CLDR lists have the name cut short."""
    if language == "en":
        return "EEEE d MMMM y" if with_year else "EEEE d MMMM"
    known = locale_of(language).datetime_skeletons
    nearest = match_skeleton("yMMMMEd" if with_year else "MMMMEd", known) or "yMMMEd"
    return re.sub(r"[Ec]+", "EEEE", known[nearest].pattern)
