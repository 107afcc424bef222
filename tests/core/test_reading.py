"""Reading an organism: what was seen counts, nothing is made impossible, nothing certain, and the next trait is worth a look."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.reading import MOST_CERTAIN, expected_bits, next_traits, priors_of, read
from drillhall.core.traits import information_bits
from drillhall.core.values import FormTraits
from drillhall.errors import Invalid
from tests.core.lore import trait

WING, LEG, BILL = trait("wing", states="bar plain"), trait("leg", states="dark pale"), trait("bill", states="long short")
TOLD: dict[int, FormTraits] = {
    1: {"wing": {"bar": 0.98, "plain": 0.02}, "leg": {"dark": 0.85, "pale": 0.15}},
    2: {"wing": {"bar": 0.1, "plain": 0.9}, "leg": {"dark": 0.6, "pale": 0.4}},
    3: {"leg": {"dark": 0.3, "pale": 0.7}},
}


def test_nothing_seen_leaves_what_was_expected() -> None:
    reading = read({}, TOLD, priors={1: 0.2, 2: 0.5, 3: 0.3})
    assert reading.chances == pytest.approx({1: 0.2, 2: 0.5, 3: 0.3})
    assert next(iter(reading.chances)) == 2
    assert not reading.surprise


def test_the_likeliest_stands_first() -> None:
    assert list(read({"wing": "bar"}, TOLD).chances) == [1, 3, 2]


def test_a_form_without_a_say_is_neither_raised_nor_lowered() -> None:
    # Form 3 gets the mean of .98 and .1, so beside the other two together it stays at one third.
    assert read({"wing": "bar"}, TOLD).chances[3] == pytest.approx(1 / 3)


def test_a_good_mark_on_a_rarity_leaves_doubt() -> None:
    told: dict[int, FormTraits] = {1: {"wing": {"bar": 0.92, "plain": 0.08}}, 2: {"wing": {"bar": 0.04, "plain": 0.96}}}
    assert read({"wing": "bar"}, told, priors={1: 0.01, 2: 0.99}).chances[1] == pytest.approx(0.188525, abs=1e-6)


def test_no_number_of_marks_makes_it_certain() -> None:
    many: dict[int, FormTraits] = {
        1: {f"t{n}": {"yes": 0.98, "no": 0.02} for n in range(9)},
        2: {f"t{n}": {"yes": 0.02, "no": 0.98} for n in range(9)},
    }
    reading = read({f"t{n}": "yes" for n in range(9)}, many)
    assert reading.chances[1] == MOST_CERTAIN
    assert sum(reading.chances.values()) == pytest.approx(1)


def test_a_prior_of_nothing_is_not_impossible() -> None:
    assert read({}, TOLD, priors={1: 0.0, 2: 1.0}).chances[1] > 0.0009


def test_what_no_form_shows_is_a_surprise() -> None:
    told: dict[int, FormTraits] = {1: {"wing": {"bar": 0.98, "plain": 0.02}}, 2: {"wing": {"bar": 0.95, "plain": 0.05}}}
    assert read({"wing": "plain"}, told).surprise
    assert not read({"wing": "bar"}, told).surprise


@pytest.mark.parametrize(("seen", "words"), [({"wing": "spotted"}, "no state"), ({"song": "loud"}, "has a say")])
def test_what_is_not_known_is_refused(seen: dict[str, str], words: str) -> None:
    with pytest.raises(Invalid, match=words):
        read(seen, TOLD)


def test_no_form_is_refused() -> None:
    with pytest.raises(Invalid, match="at least one form"):
        read({}, {})
    with pytest.raises(Invalid, match="at least one form"):
        priors_of({})


def test_a_word_for_commonness_that_is_none_is_refused() -> None:
    with pytest.raises(Invalid, match='"usual"'):
        priors_of({1: "usual"})


def test_the_most_telling_trait_comes_next_and_none_twice() -> None:
    ranked = next_traits(read({}, TOLD), (LEG, WING, BILL), TOLD)
    assert [one.trait.key for one in ranked] == ["wing", "leg"]  # nobody has a say on the bill
    assert [one.trait.key for one in next_traits(read({"wing": "bar"}, TOLD), (LEG, WING), TOLD)] == ["leg"]


def test_what_cannot_be_seen_is_not_asked_for() -> None:
    assert [one.trait.key for one in next_traits(read({}, TOLD), (LEG, WING), TOLD, visible={"leg"})] == ["leg"]


CHANCE = st.floats(0.02, 0.98)


@given(CHANCE, CHANCE, st.floats(0.05, 0.95))
def test_two_forms_agree_with_the_information_about_a_pair(one: float, other: float, prior: float) -> None:
    states = ({"yes": one, "no": 1 - one}, {"yes": other, "no": 1 - other})
    assert expected_bits({1: prior, 2: 1 - prior}, {1: states[0], 2: states[1]}) == pytest.approx(
        information_bits(*states, first_prior=prior), abs=1e-9
    )


@given(st.lists(CHANCE, min_size=2, max_size=6), st.lists(st.floats(0.01, 1), min_size=6, max_size=6))
def test_a_reading_is_a_distribution_whatever_is_seen(shows: list[float], priors: list[float]) -> None:
    told: dict[int, FormTraits] = {n: {"wing": {"bar": chance, "plain": 1 - chance}} for n, chance in enumerate(shows, 1)}
    reading = read({"wing": "bar"}, told, priors=dict(enumerate(priors, 1)))
    assert math.isclose(sum(reading.chances.values()), 1)
    assert all(0 < chance <= MOST_CERTAIN for chance in reading.chances.values())


@given(st.permutations(["wing", "leg"]))
def test_the_order_of_looking_changes_nothing(order: list[str]) -> None:
    seen = {"wing": "bar", "leg": "pale"}
    assert read({key: seen[key] for key in order}, TOLD).chances == pytest.approx(read(seen, TOLD).chances)
