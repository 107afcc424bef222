"""What a person may wish of her drills, and what a wish may be."""

from __future__ import annotations

from functools import cache
from typing import Final
from zoneinfo import available_timezones

from drillhall.core.memory import HIGHEST_TARGET, LOWEST_TARGET
from drillhall.errors import Invalid
from drillhall.people.person import Preferences
from drillhall.store.models.people import AccountRow
from drillhall.words import say

ROUND_LENGTHS: Final = (2, 3, 4, 5, 6)
COLOUR_VISION: Final = ("", "usual", "red-green", "blue-yellow", "little")
"""What may be said of how one sees colours; "" is not said, and nobody has to say."""

AREAS: Final = frozenset(["Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific"])
"""The areas of the time zone database that hold places; the rest are older spellings of the same."""


@cache
def zones() -> tuple[str, ...]:
    """Return the names of all time zones that belong to a place, and UTC."""
    return ("UTC", *sorted(zone for zone in available_timezones() if zone.partition("/")[0] in AREAS))


def check_preferences(wishes: Preferences) -> Preferences:
    """Return the wishes as they are, or raise Invalid naming the field and how to mend it."""
    if wishes.zone not in zones():
        raise Invalid(say("That is no time zone the hall knows. Choose one from the list, such as Europe/Lisbon."), field="zone")
    if not 1 <= wishes.minutes_a_day <= 120:
        raise Invalid(say("Minutes a day must be from 1 to 120."), field="minutes_a_day")
    if not LOWEST_TARGET <= wishes.target_recall <= HIGHEST_TARGET:
        raise Invalid(say("How sure to stay must be from 70 to 97 in a hundred."), field="target_recall")
    if not 0 <= wishes.new_a_day <= 10:
        raise Invalid(say("Pairs to meet a day must be from 0 to 10."), field="new_a_day")
    if wishes.round_length is not None and wishes.round_length not in ROUND_LENGTHS:
        raise Invalid(say("Pictures in a round must be from 2 to 6, or left to the hall."), field="round_length")
    if wishes.colour_vision not in COLOUR_VISION:
        raise Invalid(say("Choose one of the answers about colours, or leave it unsaid."), field="colour_vision")
    return wishes


def write_preferences(row: AccountRow, wishes: Preferences) -> None:
    """Put checked wishes on an account's row."""
    row.zone, row.language = wishes.zone, wishes.language
    row.minutes_a_day, row.new_a_day, row.round_length = wishes.minutes_a_day, wishes.new_a_day, wishes.round_length
    row.target_recall, row.colour_vision, row.single_keys = wishes.target_recall, wishes.colour_vision, wishes.single_keys
    row.letter_keys, row.in_words = wishes.letter_keys, wishes.in_words
    row.keep_originals, row.list_name = wishes.keep_originals, wishes.list_name
