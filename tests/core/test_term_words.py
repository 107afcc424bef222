"""The terms in words: every one has some, and what is typed in any language is kept alike."""

from __future__ import annotations

import pytest

from drillhall.core import term_words, terms
from drillhall.core.values import Use
from drillhall.words import Said, speak


def test_every_term_has_words() -> None:
    assert tuple(term_words.SEXES) == terms.SEXES
    assert tuple(term_words.LIFE_STAGES) == terms.LIFE_STAGES
    assert tuple(term_words.MEDIA) == terms.MEDIA
    assert tuple(term_words.DISTANCES) == terms.DISTANCES
    assert set(term_words.USES) == set(Use)
    assert set(term_words.SEEN_FROM) < set(terms.ORIENTATIONS)


@pytest.mark.parametrize(
    ("typed", "term"), [("Schlick", "mud"), (" schlick ", "mud"), ("mud", "mud"), ("Watt", "Watt"), ("", ""), ("stehend", "stehend")]
)
def test_what_is_typed_in_german_is_kept_as_the_term(typed: str, term: str) -> None:
    with speak("de"):
        assert term_words.term_of(typed, term_words.SETTINGS) == term


def test_a_german_word_is_no_term_where_english_is_spoken() -> None:
    assert term_words.term_of("Schlick", term_words.SETTINGS) == "Schlick"


def test_words_that_the_hall_put_together_are_told_and_those_of_people_stay() -> None:
    kept = str(term_words.plain_alt("Photograph", "left"))
    told = term_words.told_alt(kept)
    assert isinstance(told, Said)
    assert (str(told), told.told("de")) == (kept, "Foto zu dieser Frage, zu sehen seine linke Seite.")
    assert term_words.told_alt("Two on mud") == "Two on mud"
    assert term_words.in_words("reeds", term_words.SETTINGS) == "reeds"
