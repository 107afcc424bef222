"""Which pictures belong together: by a word, by likeness on one day, and over others in between."""

from __future__ import annotations

from datetime import date

import imagehash
import pytest

from drillhall.core.clusters import NEAR_BITS, InCluster, apart_bits, are_together, cluster_of
from drillhall.pictures.ingest import fingerprint
from tests.pictures.drawn import noise, scene

DAY, NEXT = date(2031, 2, 11), date(2031, 2, 12)


def bits(count: int) -> int:
    return (1 << count) - 1


def test_bits_apart_are_counted_over_the_sign_too() -> None:
    assert [apart_bits(0, 0), apart_bits(0, bits(10)), apart_bits(-1, 0), apart_bits(-(1 << 63), 0)] == [0, 10, 64, 1]


def test_bits_apart_agree_with_another_counter() -> None:
    """Source: ImageHash, whose difference of two hashes is the number of bits in which they differ."""
    one, other = imagehash.dhash(scene()), imagehash.dhash(noise(300, 200))
    as_ints = [int(str(one), 16), int(str(other), 16)]
    assert apart_bits(*as_ints) == one - other


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        (InCluster(1, "pond", 0, None), InCluster(2, "Pond", -1, NEXT), True),
        (InCluster(1, "", 0, DAY), InCluster(2, "", bits(NEAR_BITS), DAY), True),
        (InCluster(1, "", 0, DAY), InCluster(2, "", bits(NEAR_BITS + 1), DAY), False),
        (InCluster(1, "", 0, DAY), InCluster(2, "", 0, NEXT), False),
        (InCluster(1, "", 0, None), InCluster(2, "", 0, None), False),
        (InCluster(1, "", 0, DAY), InCluster(2, "pond", -1, DAY), False),
    ],
)
def test_together_by_word_or_by_likeness_on_one_day(one: InCluster, other: InCluster, together: bool) -> None:
    assert are_together(one, other) is together
    assert are_together(other, one) is together


def test_a_series_reaches_over_pictures_in_between_and_no_further() -> None:
    known = [
        InCluster(1, "", 0, DAY),
        InCluster(2, "", bits(10), DAY),
        InCluster(3, "dusk", bits(20), DAY),
        InCluster(4, "DUSK", -1, NEXT),
        InCluster(5, "", bits(40), DAY),
    ]
    assert cluster_of([1], known) == {1, 2, 3, 4}
    assert cluster_of([5], known) == {5}
    assert cluster_of([99], known) == set()


def test_the_same_scene_resized_is_near_and_another_is_not() -> None:
    small = fingerprint(scene(800, 600).resize((333, 250)))
    assert apart_bits(fingerprint(scene(800, 600)), small) <= NEAR_BITS
    assert apart_bits(fingerprint(scene(800, 600)), fingerprint(noise(800, 600))) > NEAR_BITS
