"""What measures tell: refusals and odd cases, symmetry, and the place of a measured trait in the order of telling."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.measure_worth import measured_worths, told_together, worth_of
from drillhall.core.measures import auc, best_cut, check_measured, cohens_d, crossings, measure_bits, overlap, weigh
from drillhall.core.traits import information_bits
from drillhall.core.values import Measured, PairLore, TraitKind
from drillhall.errors import Invalid
from tests.core.lore import FIRST, SECOND, THIRD, lore_of, parted, trait

MEASURES = st.builds(Measured, st.floats(-100, 100), st.floats(0.1, 20))
BILL = trait("bill", TraitKind.STRUCTURE, "")


def with_measures(lore: PairLore, first: Measured | None, second: Measured | None) -> PairLore:
    said = {FIRST: first, SECOND: second, THIRD: Measured(1, 1)}
    return replace(lore, traits=(*lore.traits, BILL), measures={form_id: {"bill": one} for form_id, one in said.items() if one is not None})


@pytest.mark.parametrize(
    ("mean", "spread", "n", "field"),
    [
        (math.nan, 1, None, "mean"),
        (math.inf, 1, None, "mean"),
        (-2e9, 1, None, "mean"),
        (1, 0, None, "spread"),
        (1, -2, None, "spread"),
        (1, math.nan, None, "spread"),
        (1, math.inf, None, "spread"),
        (1, 1, 0, "n"),
        (1, 1, -4, "n"),
    ],
)
def test_measures_that_cannot_be_are_refused_by_field(mean: float, spread: float, n: int | None, field: str) -> None:
    with pytest.raises(Invalid) as refused:
        check_measured(mean, spread, n)
    assert refused.value.field == field


def test_forms_measured_alike_have_no_cut_and_tell_nothing() -> None:
    worth = worth_of(BILL, Measured(40, 2), Measured(40, 2))
    assert worth.cut is None
    assert (worth.first_right, worth.second_right, worth.auc, worth.overlap, worth.d) == (0.5, 0.5, 0.5, 1.0, 0.0)
    assert worth.bits == pytest.approx(0, abs=1e-12)
    assert not worth.tells
    assert not worth.decides


def test_equal_means_of_unlike_spread_are_parted_a_little_at_either_crossing() -> None:
    low, high = crossings(Measured(40, 1), Measured(40, 4))
    assert low + high == pytest.approx(80)
    _, first_right, second_right = best_cut(Measured(40, 1), Measured(40, 4))
    assert first_right + second_right > 1
    assert auc(Measured(40, 1), Measured(40, 4)) == 0.5


def test_forms_far_apart_are_settled_and_nearly_equal_spreads_do_not_lose_the_cut() -> None:
    worth = worth_of(BILL, Measured(10, 1), Measured(1e6, 1))
    assert worth.bits == pytest.approx(1, abs=1e-6)
    assert worth.overlap == 0
    cut, *_ = best_cut(Measured(38, 2), Measured(44, 2 + 1e-8))
    assert cut == pytest.approx(41, abs=1e-4)


@settings(max_examples=60)
@given(MEASURES, MEASURES)
def test_swapping_the_forms_changes_nothing_but_the_sign(one: Measured, other: Measured) -> None:
    here, there = worth_of(BILL, one, other), worth_of(BILL, other, one)
    assert here.d == pytest.approx(-there.d)
    assert (here.auc, here.overlap, here.bits, here.right_rate) == pytest.approx(
        (there.auc, there.overlap, there.bits, there.right_rate), abs=1e-6
    )
    assert 0.5 <= here.right_rate <= 1
    assert 0 <= here.bits <= 1
    assert here.overlap <= 2 * (1 - here.right_rate) + 1e-9  # one cut is at best as good as all crossings together


@settings(max_examples=40)
@given(MEASURES, MEASURES)
def test_a_measure_tells_no_less_than_the_cut_made_of_it(one: Measured, other: Measured) -> None:
    _, first_right, second_right = best_cut(one, other)
    cut = information_bits(parted(first_right), parted(1 - second_right))
    assert measure_bits({1: 0.5, 2: 0.5}, {1: one, 2: other}) >= cut - 1e-6


def test_counts_weigh_the_pooled_spread_and_one_count_alone_does_not() -> None:
    assert cohens_d(Measured(0, 1, 101), Measured(1, 3, 2)) == pytest.approx(1 / math.sqrt((100 + 9) / 101))
    assert cohens_d(Measured(0, 1, 101), Measured(1, 3)) == pytest.approx(1 / math.sqrt(5))
    assert cohens_d(Measured(0, 1, 1), Measured(1, 3, 1)) == pytest.approx(1 / math.sqrt(5))


def test_a_form_without_a_say_neither_gains_nor_loses() -> None:
    told = {1: Measured(38, 2), 2: Measured(44, 3)}
    assert measure_bits({1: 0.25, 2: 0.25, 3: 0.5}, told) == pytest.approx(measure_bits({1: 0.5, 2: 0.5}, told) / 2)
    assert measure_bits({3: 1.0}, told) == 0


def test_measured_traits_stand_among_the_others_by_bits_and_kind() -> None:
    weak, strong = trait("wing", TraitKind.PATTERN), trait("legs", TraitKind.COLOUR)
    lore = lore_of((weak, parted(0.8), parted(0.2)), (strong, parted(0.97), parted(0.03)))
    told = told_together(with_measures(lore, Measured(38, 2), Measured(44, 3)))
    assert [one.trait.key for one in told] == ["legs", "bill", "wing"]
    near = told_together(with_measures(lore, Measured(38, 2), Measured(44.4, 2)))
    assert [one.trait.key for one in near] == ["bill", "legs", "wing"]  # within 0.1 bit structure comes before colour
    assert near[0].bits < near[1].bits < near[0].bits + 0.1


@pytest.mark.parametrize(("first", "second"), [(None, Measured(4, 1)), (Measured(4, 1), None), (None, None)])
def test_a_trait_that_was_measured_on_one_form_alone_is_not_told(first: Measured | None, second: Measured | None) -> None:
    assert measured_worths(with_measures(lore_of(), first, second)) == ()


def test_a_value_in_the_hand_is_weighed_and_none_is_made_impossible() -> None:
    weighed = weigh(200, {1: Measured(38, 2), 2: Measured(44, 3)})
    assert weighed.factors == {1: 0.001, 2: 1.0}
    assert weighed.tails[2] < 1e-9


@pytest.mark.parametrize("value", [math.nan, math.inf, -1e300])
def test_values_of_no_measure_are_refused(value: float) -> None:
    with pytest.raises(Invalid, match="no measure"):
        weigh(value, {1: Measured(38, 2)})


def test_a_value_where_nobody_was_measured_is_refused() -> None:
    with pytest.raises(Invalid, match="has been measured"):
        weigh(4, {})


def test_overlap_of_a_narrow_form_within_a_broad_one_is_small() -> None:
    assert overlap(Measured(0, 0.01), Measured(0, 100)) < 0.001
    assert measure_bits({1: 0.5, 2: 0.5}, {1: Measured(0, 0.01), 2: Measured(0, 100)}) > 0.99
