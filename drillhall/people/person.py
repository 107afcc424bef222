"""Who somebody is, as everything above the store knows her."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Preferences:
    """How a person wants her drills; `round_length` None leaves it to the hall, `colour_vision` "" is not said.

    `list_name` is the list whose names she wishes to see, "" each catalogue's own.
    `letter_keys`: whether letters answer in the drill at all; `single_keys`: wherever the focus is. `in_words`: birds told, not shown.
    `keep_originals`: whether the hall keeps the files of her pictures as they came, for her alone.
    """

    zone: str = "UTC"
    language: str = "en"
    minutes_a_day: int = 10
    target_recall: float = 0.90
    new_a_day: int = 5
    round_length: int | None = None
    colour_vision: str = ""
    list_name: str = ""
    single_keys: bool = False
    letter_keys: bool = True
    in_words: bool = False
    keep_originals: bool = True


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with an account; `sign_in_id` is the device that asks (0: none), `seen_at` when its use was last noted."""

    id: int
    name: str
    is_keeper: bool
    preferences: Preferences
    sign_in_id: int = 0
    seen_at: datetime | None = None

    @property
    def zone(self) -> str:
        """The name of her time zone."""
        return self.preferences.zone
