"""Which pictures a test is made of."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from drillhall.core.field_tests import Lacking, PairAsked, Spare, compose, shuffled

A, B, C = 1, 2, 3


def _spares(counts: dict[int, int], *, scene: object = None) -> list[Spare]:
    numbers = [(form, number) for form, count in counts.items() for number in range(count)]
    return [Spare(100 * form + number, form, scene or (form, number)) for form, number in numbers]


def _form(picture_id: int) -> int:
    return picture_id // 100


@settings(max_examples=40)
@given(seed=some.integers(0, 10_000), half=some.integers(1, 4))
def test_equal_numbers_of_both_forms_and_no_picture_twice(seed: int, half: int) -> None:
    pairs = [PairAsked(7, A, B, 2 * half), PairAsked(8, B, C, 2 * half)]
    test = compose(pairs, _spares({A: 6, B: 8, C: 5}), dice=Random(seed))
    assert not test.lacking
    assert len({one.picture_id for one in test.questions}) == 4 * half
    for pair in pairs:
        shown = Counter(_form(one.picture_id) for one in test.questions if one.pair_id == pair.pair_id)
        assert shown == {pair.first_form_id: half, pair.second_form_id: half}


def test_what_the_fewest_have_seen_is_asked_first() -> None:
    spares = [Spare(100 * form + number, form, (form, number), seen_by=number) for form in (A, B) for number in range(5)]
    test = compose([PairAsked(7, A, B, 4)], spares, dice=Random(1))
    assert sorted(one.picture_id for one in test.questions) == [100, 101, 200, 201]


def test_of_one_scene_a_single_picture() -> None:
    test = compose([PairAsked(7, A, B, 4)], [*_spares({A: 5}, scene="one flock"), *_spares({B: 2})], dice=Random(1))
    assert test.lacking == (Lacking(7, A, 2, 1),)
    assert Counter(_form(one.picture_id) for one in test.questions) == {A: 1, B: 2}


def test_a_scene_of_two_forms_is_asked_once() -> None:
    spares = [Spare(1, A, "mixed flock"), Spare(2, B, "mixed flock"), Spare(3, B, "alone")]
    test = compose([PairAsked(7, A, B, 2)], spares, dice=Random(1))
    assert not test.lacking
    assert {one.picture_id for one in test.questions} == {1, 3}


def test_each_form_that_falls_short_is_told_of() -> None:
    test = compose([PairAsked(7, A, B, 6), PairAsked(8, B, C, 6)], _spares({A: 3, B: 4, C: 0}), dice=Random(1))
    assert set(test.lacking) == {Lacking(8, B, 3, 1), Lacking(8, C, 3, 0)}


def test_field_odds_show_the_rare_form_by_the_throw_but_twice_at_least() -> None:
    rare = [
        Counter(
            _form(one.picture_id) for one in compose([PairAsked(7, A, B, 20, A, 10)], _spares({A: 20, B: 20}), dice=Random(seed)).questions
        )[A]
        for seed in range(200)
    ]
    assert min(rare) == 2
    assert max(rare) > 3
    assert 2 < sum(rare) / len(rare) < 3


@pytest.mark.parametrize("pair", [PairAsked(7, A, B, 3), PairAsked(7, A, B, 0), PairAsked(7, A, B, 4, C, 5), PairAsked(7, A, B, 4, A, 1)])
def test_what_is_no_number_or_no_odds_is_refused(pair: PairAsked) -> None:
    with pytest.raises(ValueError, match=r"number|odds"):
        compose([pair], _spares({A: 9, B: 9}), dice=Random(1))


def test_each_sitter_has_an_order_of_her_own() -> None:
    orders = {tuple(shuffled(range(8), dice=Random(seed))) for seed in range(20)}
    assert len(orders) == 20
    assert {frozenset(order) for order in orders} == {frozenset(range(8))}
