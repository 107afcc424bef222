"""What traits tell: words made chances, information, the order of telling, what decides and what misleads."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.terms import CHANCE_WORDS
from drillhall.core.traits import (
    DECIDES_BITS,
    LEAST_UNSAID,
    TELLS_BITS,
    chance_of_count,
    chance_of_word,
    deciding,
    fill_chances,
    information_bits,
    likeliest,
    misleading,
    order_of_telling,
    right_rate,
)
from drillhall.core.values import PairLore, TraitKind
from drillhall.errors import Invalid
from tests.core.lore import FIRST, THIRD, lore_of, parted, trait

STATES = ["a", "b", "c", "d"]


@st.composite
def chances(draw: st.DrawFn) -> dict[str, float]:
    weights = draw(st.lists(st.floats(0, 1), min_size=4, max_size=4).filter(lambda weights: sum(weights) > 0.01))
    return {state: weight / sum(weights) for state, weight in zip(STATES, weights, strict=True)}


# ---------------------------------------------------------------- words and counts


@pytest.mark.parametrize("word", CHANCE_WORDS)
def test_each_word_has_its_chance(word: str) -> None:
    assert chance_of_word(word) == CHANCE_WORDS[word]


@pytest.mark.parametrize("word", ["", "Usually", "mostly", " usually"])
def test_other_words_are_refused_with_those_that_are_known(word: str) -> None:
    with pytest.raises(Invalid, match="usually, often"):
        chance_of_word(word)


def test_counts_never_make_a_thing_certain() -> None:
    assert 0 < chance_of_count(0, 20) < chance_of_count(20, 20) < 1


@pytest.mark.parametrize(("shown", "of"), [(1, 0), (-1, 5), (6, 5), (0, 0)])
def test_counts_that_cannot_be_are_refused(shown: int, of: int) -> None:
    with pytest.raises(Invalid, match=f"{shown} of {of}"):
        chance_of_count(shown, of)


# ---------------------------------------------------------------- filling


@given(said=st.dictionaries(st.sampled_from(STATES), st.sampled_from(list(CHANCE_WORDS.values())), min_size=1))
def test_filled_chances_sum_to_one_and_keep_the_authors_order(said: dict[str, float]) -> None:
    try:
        filled = fill_chances(said, STATES)
    except Invalid:
        unsaid = len(STATES) - len(said)
        assert sum(said.values()) + LEAST_UNSAID * unsaid > 1.5 or (not unsaid and sum(said.values()) < 0.5)
        return
    assert list(filled) == STATES
    assert math.isclose(sum(filled.values()), 1)
    assert all(0 < chance <= 1 for chance in filled.values())
    ranked = sorted(said, key=lambda state: said[state])
    assert [filled[state] for state in ranked] == sorted(filled[state] for state in said)


def test_unsaid_states_share_what_is_left() -> None:
    assert fill_chances({"a": 0.85}, ["a", "b", "c"]) == pytest.approx({"a": 0.85, "b": 0.075, "c": 0.075})


def test_unsaid_state_keeps_a_little_where_nothing_is_left() -> None:
    filled = fill_chances({"a": 0.98, "b": 0.1}, ["a", "b", "c"])
    assert filled["c"] == pytest.approx(0.02 / 1.10)


def test_all_said_is_scaled() -> None:
    assert fill_chances({"a": 0.85, "b": 0.3}, ["a", "b"]) == pytest.approx({"a": 0.85 / 1.15, "b": 0.3 / 1.15})


@pytest.mark.parametrize("said", [{"a": 0.85, "b": 0.85}, {"a": 0.98, "b": 0.6}, {"a": 0.1, "b": 0.3}, {"a": 0.02, "b": 0.02}])
def test_words_that_were_not_meant_so_are_refused_by_name(said: dict[str, float]) -> None:
    with pytest.raises(Invalid, match=rf"a {said['a']:g}, b {said['b']:g}") as refused:
        fill_chances(said, ["a", "b"])
    assert refused.value.field == "a"


def test_the_bounds_themselves_are_allowed() -> None:
    assert fill_chances({"a": 0.6, "b": 0.6, "c": 0.3}, ["a", "b", "c"])["c"] == pytest.approx(0.2)
    # 1.5 in all, which comes out a hair above it.
    assert fill_chances(dict(zip("abcde", (0.98, 0.3, 0.1, 0.1, 0.02), strict=True)), list("abcde"))["b"] == pytest.approx(0.2)
    assert fill_chances({"a": 0.4, "b": 0.1}, ["a", "b"])["b"] == pytest.approx(0.2)


def test_unknown_state_is_refused_with_those_there_are() -> None:
    with pytest.raises(Invalid, match='"z" is no state of this trait: its states are a, b') as refused:
        fill_chances({"z": 0.85}, ["a", "b"])
    assert refused.value.field == "z"


@pytest.mark.parametrize("chance", [-0.1, 1.1, float("nan"), float("inf")])
def test_chance_beyond_its_bounds_is_refused(chance: float) -> None:
    with pytest.raises(Invalid, match="from 0 to 1"):
        fill_chances({"a": chance}, ["a", "b"])


def test_nothing_said_is_refused() -> None:
    with pytest.raises(Invalid, match="Nothing is said"):
        fill_chances({}, ["a", "b"])


# ---------------------------------------------------------------- information


@given(first=chances(), second=chances())
def test_information_is_the_same_both_ways_and_within_a_bit(first: dict[str, float], second: dict[str, float]) -> None:
    bits = information_bits(first, second)
    assert 0 <= bits <= 1
    assert bits == pytest.approx(information_bits(second, first), abs=1e-12)


@given(same=chances())
def test_like_forms_tell_nothing(same: dict[str, float]) -> None:
    assert information_bits(same, same) == pytest.approx(0, abs=1e-12)
    assert right_rate(same, same) == pytest.approx(0.5)


def test_forms_with_no_state_in_common_are_told_for_certain() -> None:
    assert information_bits({"a": 1.0}, {"b": 1.0}) == 1
    assert right_rate({"a": 1.0}, {"b": 1.0}) == 1


@given(first=chances(), second=chances())
def test_states_run_together_never_tell_more(first: dict[str, float], second: dict[str, float]) -> None:
    coarse = [{"ab": one["a"] + one["b"], "c": one["c"], "d": one["d"]} for one in (first, second)]
    assert information_bits(*coarse) <= information_bits(first, second) + 1e-12


def test_half_a_bit_is_what_is_right_in_89_of_100() -> None:
    # Source: 1 - H(p) for a trait that is equally good either way; H(0.89) = 0.4999 bits, from tables of the binary entropy.
    assert information_bits(parted(0.89), parted(0.11)) == pytest.approx(DECIDES_BITS, abs=2e-3)
    assert information_bits(parted(0.63), parted(0.37)) == pytest.approx(TELLS_BITS, abs=2e-3)


# ---------------------------------------------------------------- the order of telling


def told_in_order(lore: PairLore) -> list[str]:
    return [worth.trait.key for worth in order_of_telling(lore)]


def test_most_informative_trait_is_told_first() -> None:
    lore = lore_of(
        (trait("size", TraitKind.SIZE), parted(0.7), parted(0.3)),
        (trait("rump", TraitKind.COLOUR), parted(0.98), parted(0.02)),
    )
    assert told_in_order(lore) == ["rump", "size"]


def test_among_like_traits_structure_comes_first_and_colour_last() -> None:
    kinds = [TraitKind.COLOUR, TraitKind.BEHAVIOUR, TraitKind.PATTERN, TraitKind.SIZE, TraitKind.STRUCTURE]
    lore = lore_of(*[(trait(kind.value, kind), parted(0.98 - 0.002 * place), parted(0.02)) for place, kind in enumerate(kinds)])
    assert told_in_order(lore) == ["structure", "size", "pattern", "behaviour", "colour"]


def test_likeness_is_measured_from_the_best_trait_left() -> None:
    # 1.00, 0.93 and 0.86 bits: the second is like the first, the third is not, though it is like the second.
    chain = [("colour", 1.0, TraitKind.COLOUR), ("pattern", 0.9915, TraitKind.PATTERN), ("structure", 0.98, TraitKind.STRUCTURE)]
    lore = lore_of(*[(trait(key, kind), parted(sure), parted(1 - sure)) for key, sure, kind in chain])
    bits = [worth.bits for worth in sorted(order_of_telling(lore), key=lambda worth: -worth.bits)]
    assert bits[0] - bits[1] < 0.1 < bits[0] - bits[2]
    assert bits[1] - bits[2] < 0.1
    assert told_in_order(lore) == ["pattern", "colour", "structure"]


def test_equal_traits_keep_the_authors_order() -> None:
    lore = lore_of((trait("one"), parted(0.9), parted(0.1)), (trait("two"), parted(0.1), parted(0.9)))
    assert told_in_order(lore) == ["one", "two"]


def test_trait_of_which_one_form_has_no_say_is_not_told() -> None:
    assert order_of_telling(lore_of((trait("bill"), parted(0.9), {}))) == ()


def test_pair_without_traits_has_nothing_to_tell() -> None:
    assert order_of_telling(lore_of()) == ()
    assert deciding(lore_of()) is None
    assert misleading(lore_of()) == ()


def test_worth_names_the_state_of_either_form() -> None:
    worth = order_of_telling(lore_of((trait("bill"), parted(0.9), parted(0.2))))[0]
    assert (worth.first_state.key, worth.second_state.key) == ("one", "other")
    assert worth.right_rate == pytest.approx(0.85)


def test_of_equally_likely_states_the_first_named_stands_for_the_form() -> None:
    assert likeliest(trait("bill"), parted(0.5)).key == "one"


@pytest.mark.parametrize(("sure", "decides"), [(0.98, True), (0.9, True), (0.88, False), (0.6, False)])
def test_trait_decides_from_half_a_bit_on(sure: float, decides: bool) -> None:
    assert order_of_telling(lore_of((trait("bill"), parted(sure), parted(1 - sure))))[0].decides is decides


def test_trait_whose_likeliest_state_is_the_same_does_not_decide() -> None:
    states = trait("bill", states="a b c d")
    worth = order_of_telling(lore_of((states, {"a": 1.0}, {"a": 0.28, "b": 0.24, "c": 0.24, "d": 0.24})))[0]
    assert worth.bits > DECIDES_BITS
    assert not worth.decides


# ---------------------------------------------------------------- what decides here, what misleads

LORE = lore_of(
    (trait("rump", TraitKind.COLOUR), parted(0.99), parted(0.01)),
    (trait("bill"), parted(0.9), parted(0.1)),
    (trait("gait", TraitKind.BEHAVIOUR), parted(0.55), parted(0.45)),
    thirds=[(THIRD, "bill"), (21, "bill")],
)


def test_best_visible_trait_decides() -> None:
    found = [deciding(LORE, shows) for shows in (None, frozenset({"rump", "bill"}), frozenset({"bill", "gait"}))]
    assert [worth.trait.key for worth in found if worth] == ["rump", "rump", "bill"]


@pytest.mark.parametrize("shows", [frozenset[str](), frozenset({"gait"}), frozenset({"unheard of"})])
def test_nothing_worth_telling_is_said_to_be_nothing(shows: frozenset[str]) -> None:
    assert deciding(LORE, shows) is None


def test_trait_that_does_not_part_the_two_explains_nothing() -> None:
    assert deciding(lore_of((trait("bill"), parted(0.98), parted(0.55)))) is None


def test_trait_shared_by_thirds_misleads_and_keeps_its_worth_for_the_pair() -> None:
    (worth,) = misleading(LORE)
    assert worth.trait.key == "bill"
    assert worth.third_ids == (THIRD, 21)
    assert worth.decides


def test_traits_without_a_third_do_not_mislead() -> None:
    assert [worth.misleads for worth in order_of_telling(LORE)] == [False, True, False]
    assert FIRST not in order_of_telling(LORE)[1].third_ids
