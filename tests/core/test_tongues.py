"""A trait told in another language is the same trait: its words change, every word is still heard, and nothing else differs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.tongues import fitting_tag, note_in, told_in, words_in, words_out
from drillhall.core.traits import order_of_telling
from drillhall.core.values import State, Trait, TraitKind, Words
from drillhall.core.wording import ambiguous_elsewhere, state_meant
from tests.core.lore import lore_of

LANGUAGES = ("en", "de", "de-AT", "fr")
TAIL = Trait(
    "tail",
    "Tail edge",
    "tail",
    TraitKind.COLOUR,
    (
        State("pale", "pale", ("whitish",), said={"de": Words("hell", also_called=("weißlich",)), "fr": Words("clair")}),
        State("dark", "dark", ("sooty",), said={"de": Words("dunkel", also_called=("rußig",))}),
    ),
    ask="Is the edge pale or dark?",
    said={"de": Words("Schwanzkante", "Ist die Kante hell oder dunkel?"), "fr": Words("bord de la queue")},
)


# Worked example of RFC 4647, section 3.4: zh-Hant-CN-x-private1-private2 falls back to zh-Hant-CN, zh-Hant, zh.
@pytest.mark.parametrize(
    ("tags", "language", "fits"),
    [
        (("en", "zh", "zh-Hant"), "zh-Hant-CN-x-private1-private2", "zh-Hant"),
        (("en", "zh"), "zh-Hant-CN-x-private1-private2", "zh"),
        (("de-AT", "de"), "de", "de"),
        (("DE-at",), "de-AT", "DE-at"),
        (("en", "de-CH", "de-AT"), "de", "de-CH"),
        (("de-CH",), "de-AT", None),
        (("en", "den"), "de", None),
        ((), "de", None),
    ],
)
def test_the_tag_that_fits_best_is_chosen(tags: tuple[str, ...], language: str, fits: str | None) -> None:
    assert fitting_tag(tags, language) == fits


def test_a_trait_is_told_in_a_language_and_its_own_words_are_still_heard() -> None:
    german = told_in(TAIL, "de-CH")
    assert (german.label, german.ask, german.language) == ("Schwanzkante", "Ist die Kante hell oder dunkel?", "de")
    assert [(state.label, state.also_called) for state in german.states] == [("hell", ("weißlich",)), ("dunkel", ("rußig",))]
    for word in ("HELL", "weisslich", "whitish", "clair", "pale"):
        meant = state_meant(german, word)
        assert meant is not None, word
        assert meant.key == "pale"


def test_what_is_not_said_there_stays_in_the_catalogue_s_own_language() -> None:
    french = told_in(TAIL, "fr")
    assert (french.label, french.ask) == ("bord de la queue", "")  # the hall asks in French, where nobody wrote a question
    assert [(state.label, state.language) for state in french.states] == [("clair", "fr"), ("dark", "en")]
    assert told_in(TAIL, "nl") == TAIL
    assert told_in(replace(TAIL, said={}), "de").label == "Tail edge"


def test_two_states_never_come_to_bear_one_word() -> None:
    pale, dark = TAIL.states
    told = told_in(replace(TAIL, states=(replace(pale, said={"de": Words("Dark")}), replace(dark, said={}))), "de")
    assert [state.label for state in told.states] == ["pale", "dark"]


def test_a_word_of_hers_comes_before_the_same_word_of_another_language() -> None:
    """“Fast” is German for almost: a false friend means what it means where the trait is told."""
    slow = State("slow", "slow", said={"de": Words("langsam")})
    almost, fast = State("almost", "nearly", said={"de": Words("fast")}), State("quick", "fast", said={"de": Words("schnell")})
    gait = Trait("gait", "Gait", "whole", TraitKind.BEHAVIOUR, (slow, almost, fast))
    for language, key in (("en", "quick"), ("de", "almost")):
        meant = state_meant(told_in(gait, language), "fast")
        assert meant is not None
        assert meant.key == key
    two = Trait(
        "gait", "Gait", "whole", TraitKind.BEHAVIOUR, (replace(slow, said={"fr": Words("x")}), replace(fast, said={"nl": Words("x")}))
    )
    assert state_meant(two, "x") is None


def test_words_of_two_states_are_named_language_by_language() -> None:
    pale, dark = TAIL.states
    twice = (pale, replace(dark, said={"de": Words("dunkel", also_called=("Hell",)), "fr": Words("sombre")}))
    assert ambiguous_elsewhere(twice, "de") == ("hell",)
    assert ambiguous_elsewhere(twice, "fr") == ()
    assert ambiguous_elsewhere((pale, replace(dark, said={"de": Words("Pale")})), "de") == ("pale",)  # the key of the other
    assert ambiguous_elsewhere(TAIL.states, "nl") == ()


def test_a_note_is_told_where_it_is_said() -> None:
    said = {"de": Words(note="Im Winter."), "fr": Words()}
    assert note_in("In winter.", said, "en", "de") == ("Im Winter.", "de")
    assert note_in("In winter.", said, "en", "fr") == ("In winter.", "en")
    assert note_in("In winter.", {"en-GB": Words(note="!")}, "en", "en") == ("In winter.", "en")


def test_words_are_stored_without_what_is_empty() -> None:
    assert words_in(words_out(TAIL.said)) == TAIL.said
    assert words_out({"de": Words(also_called=("hell",))}) == {"de": {"also_called": ["hell"]}}


@st.composite
def traits(draw: st.DrawFn) -> Trait:
    """Traits of which no two states share a word in any language, some words unsaid."""
    states = []
    for number in range(draw(st.integers(2, 4))):
        names = {
            tag: Words(f"{tag} {number}", also_called=(f"{tag} also {number}",)) for tag in LANGUAGES if tag == "en" or draw(st.booleans())
        }
        own = names.pop("en")
        states.append(State(f"k{number}", own.label, own.also_called, said=names))
    said = {tag: Words(f"{tag} trait") for tag in LANGUAGES[1:] if draw(st.booleans())}
    return Trait("trait", "en trait", "bill", TraitKind.STRUCTURE, tuple(states), said=said)


@settings(max_examples=40)
@given(traits(), st.lists(st.sampled_from(LANGUAGES), min_size=1, max_size=3))
def test_swapping_languages_changes_nothing_but_the_words(trait: Trait, languages: list[str]) -> None:
    told = trait
    for language in languages:
        told = told_in(told, language)
    every = [(state.key, word) for state in trait.states for tag in LANGUAGES for word in _words(state, tag)]
    for key, word in every:
        meant = state_meant(told, word)
        assert meant is not None
        assert meant.key == key
    assert [state.key for state in told.states] == [state.key for state in trait.states]
    assert told_in(told, "en") == trait
    usual, other = {"k0": 0.9, "k1": 0.1}, {"k0": 0.1, "k1": 0.9}
    one, two = (order_of_telling(lore_of((as_told, usual, other)))[0] for as_told in (trait, told))
    assert replace(one, trait=trait, first_state=trait.states[0], second_state=trait.states[1]) == replace(
        two, trait=trait, first_state=trait.state(two.first_state.key), second_state=trait.state(two.second_state.key)
    )


def _words(state: State, tag: str) -> tuple[str, ...]:
    words = Words(state.label, also_called=state.also_called) if tag == state.language else state.said.get(tag, Words())
    return tuple(filter(None, (words.label, *words.also_called)))
