"""Finds pictures of a catalogue that are nearly the same, so that a scene never lies both among those drilled and those kept for tests."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import combinations
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.clusters import NEAR_BITS, apart_bits
from drillhall.core.values import Use
from drillhall.errors import Invalid
from drillhall.pictures.curated import the_named
from drillhall.store.models.pictures import PicturesApartRow
from drillhall.store.queries import curating as reading
from drillhall.store.queries.curating import LookedAt
from drillhall.words import say

BITS: Final = 64

TWIN_BITS: Final = 6
"""Whatever the day, fingerprints this near are one photograph, resized, encoded anew or taken a moment later.

Two that have nothing to do with each other, as many ones as noughts and independent, come so near once in 200 thousand million
pairs (binomial), so among 10 000 pictures hardly ever; pictures of one day may be less alike, see NEAR_BITS.
"""


@dataclass(frozen=True, slots=True)
class Twins:
    """Pictures that look nearly the same or bear the word of one series, in order of id.

    `is_leak`: some of them are drilled or shown as portraits, and others are kept for tests.
    """

    ids: tuple[int, ...]
    uses: tuple[str, ...]
    is_leak: bool


def find_twins(db: Session, catalogue_id: int, account_id: int, *, on: date) -> tuple[Twins, ...]:
    """Return what a steward has to judge of the pictures she may see: leaks first, then pictures that are not told to be one series."""
    return group_twins(reading.looked_at(db, catalogue_id, account_id, on=on), reading.told_apart(db, catalogue_id))


def group_twins(pictures: Sequence[LookedAt], apart: Collection[tuple[int, int]] = ()) -> tuple[Twins, ...]:
    """Group pictures by likeness and by the word of their series; `apart` are pairs said to be different, the lower id first."""
    by_id = {picture.id: picture for picture in pictures}
    groups = _joined(by_id, (pair for pair in _alike(pictures) if pair not in apart))
    found = [
        Twins(ids, tuple(by_id[id_].use for id_ in ids), _is_leak(by_id[id_].use for id_ in ids))
        for ids in groups
        if not _is_settled([by_id[id_] for id_ in ids])
    ]
    return tuple(sorted(found, key=lambda twins: (not twins.is_leak, twins.ids)))


def near_pairs(fingerprints: Mapping[int, int], bits: int) -> Iterator[tuple[int, int]]:
    """Yield the pairs of ids, lower first, whose fingerprints differ in at most `bits` of their 64 bits.

    The 64 bits are cut into `bits` + 1 bands: two fingerprints that differ in at most `bits` places are alike in one band at least,
    so that only those that share a band are compared. Of equal fingerprints the first stands for all others.
    """
    ids_of: dict[int, list[int]] = defaultdict(list)
    for id_ in sorted(fingerprints):
        ids_of[fingerprints[id_] & (1 << BITS) - 1].append(id_)
    for same in ids_of.values():
        yield from ((same[0], other) for other in same[1:])
    seen: set[tuple[int, int]] = set()
    for shift, mask in _bands(bits + 1):
        in_band: dict[int, list[int]] = defaultdict(list)
        for fingerprint in ids_of:
            in_band[fingerprint >> shift & mask].append(fingerprint)
        for alike in in_band.values():
            seen.update(pair for pair in combinations(sorted(alike), 2) if apart_bits(*pair) <= bits)
    for one, other in seen:
        first, second = sorted((ids_of[one][0], ids_of[other][0]))
        yield first, second


def join_twins(db: Session, catalogue_id: int, account_id: int, public_ids: Sequence[str], *, use: str = "", on: date) -> None:
    """Say that pictures are of one scene: one word of series for all, and all on one side of practice and tests.

    Raises Invalid where they lie on both sides and `use` does not say where all of them go.
    """
    rows = [picture for picture, _ in the_named(db, catalogue_id, account_id, public_ids, on=on, least=2)]
    if use and use not in {row.use for row in rows}:
        raise Invalid(say("Choose for all of them a use that one of them has."), field="use")
    if not use and _is_leak(row.use for row in rows):
        raise Invalid(say("Some of these are drilled and some are kept for tests. Choose one use for all of them."), field="use")
    word = next((row.cluster for row in rows if row.cluster), f"scene {rows[0].public_id[:8]}")
    for row in rows:
        row.cluster, row.use = word, use or row.use


def keep_apart(db: Session, catalogue_id: int, account_id: int, public_ids: Sequence[str], *, on: date, at: datetime) -> None:
    """Say that pictures that look alike are different scenes, so that nobody is asked again."""
    ids = [picture.id for picture, _ in the_named(db, catalogue_id, account_id, public_ids, on=on, least=2)]
    known = reading.told_apart(db, catalogue_id)
    for first, second in combinations(ids, 2):
        if (first, second) not in known:
            db.add(
                PicturesApartRow(
                    catalogue_id=catalogue_id, first_picture_id=first, second_picture_id=second, said_by=account_id, said_at=at
                )
            )


def _alike(pictures: Sequence[LookedAt]) -> Iterator[tuple[int, int]]:
    """Yield pairs that look alike, or that bear the word of one series."""
    yield from near_pairs({picture.id: picture.fingerprint for picture in pictures}, TWIN_BITS)
    by_day: dict[date, dict[int, int]] = defaultdict(dict)
    by_word: dict[str, list[int]] = defaultdict(list)
    for picture in pictures:
        if picture.taken_on is not None:
            by_day[picture.taken_on][picture.id] = picture.fingerprint
        if picture.cluster:
            by_word[picture.cluster.casefold()].append(picture.id)
    for fingerprints in by_day.values():
        yield from near_pairs(fingerprints, NEAR_BITS)
    for ids in by_word.values():
        yield from ((ids[0], other) for other in ids[1:])


def _bands(count: int) -> Iterator[tuple[int, int]]:
    """Yield shift and mask of so many bands that cover all 64 bits, of widths as equal as can be."""
    for number in range(count):
        low, high = number * BITS // count, (number + 1) * BITS // count
        yield low, (1 << (high - low)) - 1


def _joined(by_id: Mapping[int, LookedAt], pairs: Iterable[tuple[int, int]]) -> list[tuple[int, ...]]:
    """Return the groups of two and more that pairs make, be it over others in between."""
    leader = {id_: id_ for id_ in by_id}

    def lead(id_: int) -> int:
        while leader[id_] != id_:
            leader[id_] = id_ = leader[leader[id_]]
        return id_

    for one, other in pairs:
        leader[lead(other)] = lead(one)
    groups: dict[int, list[int]] = defaultdict(list)
    for id_ in sorted(by_id):
        groups[lead(id_)].append(id_)
    return [tuple(ids) for ids in groups.values() if len(ids) > 1]


def _is_leak(uses: Iterable[str]) -> bool:
    return len({use == Use.HELD_OUT for use in uses}) == 2


def _is_settled(group: Sequence[LookedAt]) -> bool:
    """Whether all bear one word of series and lie on one side of practice and tests."""
    words = {picture.cluster.casefold() for picture in group}
    return len(words) == 1 and words != {""} and not _is_leak(picture.use for picture in group)
