"""Item analysis, reliability and comparing, where there is little or nothing to go by."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from drillhall.core.field_tests import (
    Agreement,
    Doubt,
    Item,
    agreement,
    analyse,
    doubt_of,
    mcnemar,
    paired_difference,
    questions_needed,
    reliability,
    upper_lower,
)

RIGHT, WRONG = True, False


def test_nobody_sat() -> None:
    assert analyse([]) == ()
    assert reliability([]) is None
    assert paired_difference([], [], dice=Random(1)) is None
    assert agreement([], []) == Agreement(0, 0, None)
    assert Item(0, 0, None, None).facility is None


def test_a_class_of_one_has_facilities_and_nothing_else() -> None:
    items = analyse([[RIGHT, WRONG]])
    assert [item.facility for item in items] == [1.0, 0.0]
    assert [(item.item_rest, item.discrimination) for item in items] == [(None, None)] * 2
    found = reliability([[RIGHT, WRONG]])
    assert found is not None
    assert (found.kr20, found.sem_questions) == (None, None)


def test_one_question_has_no_reliability() -> None:
    found = reliability([[RIGHT], [WRONG]])
    assert found is not None
    assert found.kr20 is None


def test_a_question_that_all_had_right_correlates_with_nothing() -> None:
    sat = [[RIGHT, RIGHT, RIGHT], [RIGHT, WRONG, WRONG], [RIGHT, RIGHT, RIGHT], [RIGHT, WRONG, WRONG], [RIGHT, RIGHT, WRONG]]
    assert [item.item_rest is None for item in analyse(sat)] == [True, False, False]


def test_of_few_sitters_no_correlation_is_told() -> None:
    sat = [[RIGHT, RIGHT], [WRONG, WRONG], [RIGHT, RIGHT], [WRONG, WRONG], [RIGHT, RIGHT]]
    assert [item.item_rest for item in analyse(sat)] == [pytest.approx(1.0)] * 2
    assert [item.item_rest for item in analyse(sat[:4])] == [None, None]


def test_upper_and_lower_groups_only_from_twenty_sitters_on() -> None:
    table = [[number > 10, number > 5] for number in range(20)]
    assert [item.discrimination for item in analyse(table)] == [pytest.approx(1.0)] * 2
    assert [item.discrimination for item in analyse(table[1:])] == [None, None]


@settings(max_examples=50)
@given(some.lists(some.lists(some.booleans(), min_size=3, max_size=3), min_size=1, max_size=12), some.randoms())
def test_the_order_of_sitters_changes_nothing(table: list[list[bool]], dice: Random) -> None:
    thrown = table[:]
    dice.shuffle(thrown)
    assert upper_lower(thrown) == [pytest.approx(value) for value in upper_lower(table)]
    one, other = reliability(table), reliability(thrown)
    assert one is not None
    assert other is not None
    assert one.kr20 == (None if other.kr20 is None else pytest.approx(other.kr20))


def test_which_pictures_to_doubt() -> None:
    assert doubt_of(Item(2, 10, 0.5, None)) is None  # a guesser has so few in one case in eighteen
    assert doubt_of(Item(1, 10, 0.5, None)) is Doubt.BELOW_GUESSING
    assert doubt_of(Item(6, 10, -0.01, None)) is Doubt.AGAINST_THE_REST
    assert doubt_of(Item(6, 9, -0.9, None)) is None
    assert doubt_of(Item(0, 0, None, None)) is None
    assert doubt_of(Item(9, 9, None, None)) is None


def test_more_of_what_measures_nothing_helps_nobody() -> None:
    assert questions_needed(0.0, 10, 0.8) is None
    assert questions_needed(-0.4, 10, 0.8) is None
    assert questions_needed(1.0, 10, 0.8) == 1


def lengthened(known: float, times: float) -> float:
    """Return the reliability of a test made so many times as long: Spearman 1910 and Brown 1910, k r / (1 + (k − 1) r), from memory."""
    return times * known / (1 + (times - 1) * known)


@settings(max_examples=50)
@given(some.floats(0.05, 0.95), some.integers(2, 60), some.floats(0.1, 0.95))
def test_so_many_questions_do_and_one_fewer_does_not(known: float, questions: int, wanted: float) -> None:
    needed = questions_needed(known, questions, wanted)
    assert needed is not None
    assert lengthened(known, needed / questions) >= wanted - 1e-6
    if needed > 1:
        assert lengthened(known, (needed - 1) / questions) < wanted + 1e-6


def test_who_never_changed_tells_nothing() -> None:
    assert mcnemar([RIGHT, WRONG], [RIGHT, WRONG]).chance == 1.0
    assert mcnemar([], []).chance == 1.0


def test_no_interval_from_fewer_than_six() -> None:
    five = paired_difference([0.5] * 5, [0.6] * 5, dice=Random(1))
    six = paired_difference([0.5] * 6, [0.6] * 6, dice=Random(1))
    assert five is not None
    assert six is not None
    assert (five.low, five.high) == (None, None)
    assert six.low == pytest.approx(0.1)


@pytest.mark.parametrize(
    "act",
    [
        lambda: analyse([[True], [True, False]]),
        lambda: reliability([[True], []]),
        lambda: mcnemar([True], []),
        lambda: agreement(["a"], []),
        lambda: paired_difference([0.1], [], dice=Random(1)),
        lambda: questions_needed(0.5, 0, 0.8),
        lambda: questions_needed(0.5, 10, 1.0),
    ],
)
def test_what_no_test_can_give_is_refused(act: object) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - what each says is for the programmer
        act()  # type: ignore[operator]
