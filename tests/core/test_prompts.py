"""Prompts follow what a learner misreads, fade where she no longer does, and say what lies behind a mix-up only on enough answers."""

from __future__ import annotations

from datetime import UTC, datetime
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import Misses
from drillhall.core.prompts import has_faded, information_left, order_of_asking, trait_behind, weakness_of
from drillhall.core.rounds import build_round
from drillhall.core.traits import order_of_telling
from drillhall.core.values import Candidate, RoundNeeds
from tests.core.lore import FIRST, SECOND, lore_of, parted, trait

LORE = lore_of(*((trait(key), parted(sure), parted(1 - sure)) for key, sure in (("bill", 0.98), ("leg", 0.92), ("tail", 0.88))))
TOLD = order_of_telling(LORE)


def keys(asked: object) -> list[str]:
    return [worth.trait.key for worth in asked]  # type: ignore[attr-defined]


def test_without_answers_the_order_of_telling_stands() -> None:
    assert keys(order_of_asking(TOLD, {})) == ["bill", "leg", "tail"]


def test_what_she_misreads_comes_before_what_tells_more() -> None:
    assert keys(order_of_asking(TOLD, {"tail": Misses(9, 10), "bill": Misses(1, 6)}))[0] == "tail"


def test_what_she_reads_well_fades_and_comes_back_when_missed() -> None:
    read_well = {"bill": Misses(0, 20)}
    assert keys(order_of_asking(TOLD, read_well)) == ["leg", "tail"]
    assert keys(order_of_asking(TOLD, read_well, missed_last="bill"))[0] == "bill"


def test_a_trait_that_does_not_part_them_is_never_asked() -> None:
    lore = lore_of((trait("wing"), parted(0.9), parted(0.7)))
    assert order_of_asking(order_of_telling(lore), {}) == ()


@pytest.mark.parametrize(("missed", "shown", "faded"), [(0, 7, False), (0, 8, True), (2, 8, False), (1, 40, True)])
def test_it_fades_only_after_enough_answers(missed: float, shown: float, faded: bool) -> None:
    assert has_faded(Misses(missed, shown)) is faded


def test_nothing_is_said_of_what_lies_behind_on_few_answers() -> None:
    assert trait_behind(TOLD, {"leg": Misses(7, 7)}) is None
    assert trait_behind(TOLD, {}) is None


def test_the_trait_behind_is_weakness_times_information() -> None:
    behind = trait_behind(TOLD, {"bill": Misses(1, 20), "leg": Misses(9, 12), "tail": Misses(9, 12)})
    assert behind is not None
    assert behind.worth.trait.key == "leg"  # as weak as the tail, and it tells more


def test_traits_read_well_explain_nothing() -> None:
    assert trait_behind(TOLD, {"bill": Misses(0, 30), "leg": Misses(0, 30)}) is None


def test_a_round_asks_for_what_she_misreads() -> None:
    candidates = [Candidate(number, FIRST if number < 9 else SECOND) for number in range(1, 17)]
    needs = RoundNeeds(LORE, 3, trait_misses={"tail": Misses(18, 20), "bill": Misses(0, 20)})
    built = build_round(needs, candidates, now=datetime(2031, 5, 4, tzinfo=UTC), dice=Random(1))
    assert [showing.asks[0].trait for showing in built if showing.prompted] == ["tail", "leg"]


@given(st.floats(0, 30), st.floats(0, 30))
def test_weakness_is_a_rate_and_grows_with_misses(missed: float, kept: float) -> None:
    found = Misses(missed, missed + kept)
    assert 0 < weakness_of(found) < 1
    assert weakness_of(found) <= weakness_of(Misses(missed + 1, missed + kept + 1))
    assert information_left(TOLD[0], found) == pytest.approx(TOLD[0].bits * weakness_of(found))
