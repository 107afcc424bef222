"""A word is heard however it is spelt, and where it may mean two states it means none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.values import State, Trait, TraitKind
from drillhall.core.wording import ambiguous_words, fold_word, state_meant

CROWN = Trait(
    "crown",
    "Crown",
    "head",
    TraitKind.COLOUR,
    (
        State("buff", "warm buff", ("sandy", "straw", "pale")),
        State("rust", "rusty", ("chestnut", "red-brown", "Café au lait")),
        State("white", "whitish", ("pale", "buff")),
    ),
)


@pytest.mark.parametrize(
    ("said", "state"),
    [
        ("warm buff", "buff"),
        ("WARM  Buff ", "buff"),
        ("Straw", "buff"),
        ("chestnut", "rust"),
        ("Red Brown", "rust"),
        ("cafe\u0301 au lait", "rust"),
        ("CAFE AU LAIT", "rust"),
        ("ｗｈｉｔｉｓｈ", "white"),
    ],
)
def test_a_word_is_heard_in_case_accents_and_spaces_of_any_kind(said: str, state: str) -> None:
    meant = state_meant(CROWN, said)
    assert meant is not None
    assert meant.key == state


@pytest.mark.parametrize("said", ["pale", "green", "", "   ", "bu", "warm"])
def test_what_fits_two_states_or_none_means_none(said: str) -> None:
    assert state_meant(CROWN, said) is None


def test_a_state_s_own_name_comes_before_another_s_synonym() -> None:
    meant = state_meant(CROWN, "buff")
    assert meant is not None
    assert meant.key == "buff"


def test_the_words_that_two_states_go_by_are_named() -> None:
    assert ambiguous_words(CROWN) == ("buff", "pale")


@given(st.text(max_size=20))
def test_folding_twice_changes_nothing(said: str) -> None:
    assert fold_word(fold_word(said)) == fold_word(said)
