"""What is said of the drawn forms holds together: states, pairs, stages and thirds."""

from __future__ import annotations

import pytest

from drillhall.core.terms import PARTS
from drillhall.core.values import TraitKind
from drillhall.demo.book import DrawnPair, read_book
from drillhall.demo.measuring import BY_COLOUR, RANGES
from drillhall.demo.painter.forms import list_keys
from drillhall.demo.painter.scene import Scene
from drillhall.demo.painter.studio import paint

BOOK = read_book()


def _name(pair: DrawnPair) -> str:
    return " / ".join(pair.forms)


def test_every_drawn_form_has_states_and_no_other_has() -> None:
    assert set(BOOK.states) == set(list_keys())


def test_every_state_is_one_of_its_trait() -> None:
    for form, said in BOOK.states.items():
        for key, state in said.items():
            assert state in {one.key for one in BOOK.trait(key).states}, (form, key)


def test_parts_and_kinds_are_controlled_words_and_each_trait_asks() -> None:
    for trait in BOOK.traits:
        assert trait.part in PARTS, trait.key
        assert trait.kind in set(TraitKind), trait.key
        assert trait.ask.startswith("Look"), trait.key
        assert trait.ask.endswith("?"), trait.key


def test_every_trait_state_and_note_is_said_in_german_too() -> None:
    for trait in BOOK.traits:
        said = [trait.german, trait.ask_german, *(state.german for state in trait.states)]
        assert all(said), trait.key
        assert not {trait.label, trait.ask, *(state.label for state in trait.states)} & set(said), trait.key
        assert trait.ask_german.startswith("Sieh"), trait.key
        assert len({word for state in trait.states for word in (state.german, *state.also_called_german)}) == sum(
            1 + len(state.also_called_german) for state in trait.states
        ), trait.key
    assert all(pair.german and pair.german != pair.note for pair in BOOK.pairs)


def test_there_are_pairs_enough_in_stages_that_begin_easy() -> None:
    assert len(BOOK.pairs) >= 16
    assert [pair.stage for pair in BOOK.pairs] == sorted(pair.stage for pair in BOOK.pairs)
    assert {pair.stage for pair in BOOK.pairs} == {1, 2, 3}
    assert len({frozenset(pair.forms) for pair in BOOK.pairs}) == len(BOOK.pairs)


@pytest.mark.parametrize("pair", BOOK.pairs, ids=_name)
def test_two_forms_of_a_pair_differ_in_several_traits_one_of_them_measured(pair: DrawnPair) -> None:
    telling = [trait.key for trait in BOOK.telling(pair)]
    assert len(telling) >= 3
    assert any(key in RANGES or key in BY_COLOUR for key in telling)


@pytest.mark.parametrize("pair", BOOK.pairs, ids=_name)
def test_the_third_shares_the_misleading_state_with_one_form_and_differs_from_both(pair: DrawnPair) -> None:
    first, second, third = (BOOK.states[key] for key in (*pair.forms, pair.third))
    assert first[pair.trait] != second[pair.trait]
    assert third[pair.trait] in (first[pair.trait], second[pair.trait])
    for one in (first, second):
        assert any(one[key] != third[key] for key in one.keys() & third.keys())


def test_a_pair_of_one_form_with_itself_has_nothing_that_tells() -> None:
    assert BOOK.telling(DrawnPair(("knot_nonbreeding", "knot_nonbreeding"), 1, "", "", "")) == ()


def test_what_is_measured_is_marked_as_invented_and_is_nothing_that_a_drawing_shows() -> None:
    assert BOOK.measured
    for one in BOOK.measured:
        assert "invented" in one.label
        assert "erfunden" in one.german
        assert len(one.forms) in (2, 3)
        assert one.forms.keys() <= BOOK.states.keys()
        assert one.key not in {trait.key for trait in BOOK.traits}
        assert not any(one.key in said for said in BOOK.states.values())


def test_an_unknown_trait_is_refused() -> None:
    with pytest.raises(KeyError, match="wing_bar"):
        BOOK.trait("wing_bar")


def test_what_is_too_fine_or_hidden_is_not_in_view() -> None:
    near = Scene("mud", "overcast", "standing", 1, 0.68, 0.5, 0.80, 1.0, 0.0, 0.0, 0.2, 0.3)
    far = Scene("water", "overcast", "standing", 1, 0.20, 0.5, 0.80, 1.0, 0.0, 3.0, 0.2, 0.55)
    ring, legs = BOOK.trait("eye_ring"), BOOK.trait("leg_length")
    assert ring.is_in_view(paint("wood_sandpiper", 1, near))
    assert legs.is_in_view(paint("wood_sandpiper", 1, near))
    assert not ring.is_in_view(paint("wood_sandpiper", 1, far))
    assert not legs.is_in_view(paint("wood_sandpiper", 1, far))
