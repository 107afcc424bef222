"""How long pictures take, as it is told: one rule, before a drill, on every picture of it, and for days to come."""

from __future__ import annotations

from math import ceil


def minutes_told(pictures: int, seconds_a_picture: float) -> int:
    """Return in how many whole minutes so many pictures are done: rounded up, since whoever has ten minutes must not need eleven.

    At least 1; the player keeps the same rule in `static/js/drill/left.js`.

    >>> minutes_told(20, 9.0), minutes_told(21, 9.0), minutes_told(1, 0.5)
    (3, 4, 1)
    """
    return max(1, ceil(pictures * seconds_a_picture / 60))
