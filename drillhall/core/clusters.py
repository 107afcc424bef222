"""Tells which pictures belong together, so that they are never split between practice, portraits and tests."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

NEAR_BITS: Final = 10
"""Fingerprints that differ in at most so many of their 64 bits are taken for one scene (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class InCluster:
    """What is known of a picture for this: its id, the word of its series ("" for none), its fingerprint, and the day it was taken."""

    picture_id: int
    cluster: str
    fingerprint: int
    taken_on: date | None


def apart_bits(one: int, other: int) -> int:
    """Return in how many of their 64 bits two fingerprints differ.

    >>> apart_bits(0b1011, 0b0001), apart_bits(-1, 0)
    (2, 64)
    """
    return ((one ^ other) & (1 << 64) - 1).bit_count()


def are_together(one: InCluster, other: InCluster) -> bool:
    """Whether two pictures are of one series: their owner says so, or they look nearly the same and were taken on one day."""
    if one.cluster and one.cluster.casefold() == other.cluster.casefold():
        return True
    same_day = one.taken_on is not None and one.taken_on == other.taken_on
    return same_day and apart_bits(one.fingerprint, other.fingerprint) <= NEAR_BITS


def cluster_of(seeds: Iterable[int], pictures: Sequence[InCluster]) -> set[int]:
    """Return the ids of some pictures and of all that belong together with them, be it over others in between."""
    known = {picture.picture_id: picture for picture in pictures}
    by_word, by_day = defaultdict(list), defaultdict(list)
    for picture in pictures:
        by_word[picture.cluster.casefold()].append(picture)
        by_day[picture.taken_on].append(picture)
    reached, open_ones = set(), [seed for seed in seeds if seed in known]
    while open_ones:
        picture_id = open_ones.pop()
        if picture_id in reached:
            continue
        reached.add(picture_id)
        one = known[picture_id]
        near = (*(by_word[one.cluster.casefold()] if one.cluster else ()), *(by_day[one.taken_on] if one.taken_on else ()))
        open_ones.extend(other.picture_id for other in near if other.picture_id not in reached and are_together(one, other))
    return reached
