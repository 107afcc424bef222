"""Kinds of question: the same tests over all of them, then what each asks."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.kinds import KINDS, Kind, beside, form, the_kind, trait
from drillhall.core.traits import fill_chances
from drillhall.core.values import Ask, State, Trait, TraitKind
from drillhall.errors import BadAnswer
from tests.core.lore import FIRST, PAIR, SECOND, THIRD, parted
from tests.core.lore import trait as trait_of

ASKS = {
    "form": form.make_ask(PAIR, SECOND, neither=True),
    "beside": beside.make_ask(asked_stands_first=False),
    "trait": trait.make_ask(trait_of("bill"), parted(0.9), parted(0.1)),
}
KINDS_WITH_ASK = [pytest.param(kind, ASKS[kind.KEY], id=kind.KEY) for kind in KINDS]


def test_every_kind_is_tried_here() -> None:
    assert {kind.KEY for kind in KINDS} == set(ASKS)
    assert len({kind.KEY for kind in KINDS}) == len(KINDS)


@pytest.mark.parametrize(("kind", "ask"), KINDS_WITH_ASK)
def test_ask_names_its_kind_and_holds_its_key(kind: Kind, ask: Ask) -> None:
    assert the_kind(ask.kind) is kind
    assert ask.key in ask.choices
    assert len(set(ask.choices)) == len(ask.choices) >= 2


@pytest.mark.parametrize(("kind", "ask"), KINDS_WITH_ASK)
def test_exactly_one_choice_is_right(kind: Kind, ask: Ask) -> None:
    assert [choice for choice in ask.choices if kind.is_right(ask, choice)] == [ask.key]


@pytest.mark.parametrize(("kind", "ask"), KINDS_WITH_ASK)
def test_every_choice_may_be_said(kind: Kind, ask: Ask) -> None:
    for choice in ask.choices:
        kind.validate(ask, choice)


@pytest.mark.parametrize(("kind", "ask"), KINDS_WITH_ASK)
@pytest.mark.parametrize("said", ["", "99", "-1", "ONE", " 11", "11 ", "None", "other one"])
def test_what_was_no_choice_is_refused_and_never_right(kind: Kind, ask: Ask, said: str) -> None:
    for judge in (kind.validate, kind.is_right):
        with pytest.raises(BadAnswer, match="not among the choices") as refused:
            judge(ask, said)
        assert refused.value.field == "said"


@pytest.mark.parametrize(("kind", "ask"), KINDS_WITH_ASK)
def test_refusal_is_the_same_whatever_the_key(kind: Kind, ask: Ask) -> None:
    sentences = set()
    for key in ask.choices:
        with pytest.raises(BadAnswer) as refused:
            kind.validate(replace(ask, key=key), "99")
        sentences.add(refused.value.sentence)
    assert len(sentences) == 1


@pytest.mark.parametrize(("kind", "ask"), KINDS_WITH_ASK)
def test_learner_says_how_sure_she_is_of_forms_alone(kind: Kind, ask: Ask) -> None:
    assert kind.takes_sure is (ask.kind == "form")


@pytest.mark.parametrize("key", ["", "Form", "forms", "essay"])
def test_unknown_kind_is_refused_by_name(key: str) -> None:
    with pytest.raises(BadAnswer, match=f'"{key}" is no kind'):
        the_kind(key)


# ---------------------------------------------------------------- form


def test_first_form_stands_first_and_neither_last() -> None:
    assert form.make_ask(PAIR, SECOND, neither=False).choices == (str(FIRST), str(SECOND))
    assert form.make_ask(PAIR, SECOND, neither=True).choices == (str(FIRST), str(SECOND), "0")


def test_neither_is_right_for_a_third_alone() -> None:
    assert form.make_ask(PAIR, THIRD, neither=True).key == "0"
    assert form.make_ask(PAIR, FIRST, neither=True).key == str(FIRST)


def test_third_without_neither_is_a_mistake() -> None:
    with pytest.raises(ValueError, match=f"form {THIRD}"):
        form.make_ask(PAIR, THIRD, neither=False)


# ---------------------------------------------------------------- trait


def test_key_is_the_likeliest_state_of_what_is_shown() -> None:
    bill = trait_of("bill")
    assert trait.make_ask(bill, parted(0.9), parted(0.1)).key == "one"
    assert trait.make_ask(bill, parted(0.1), parted(0.9)).key == "other"


def test_up_to_four_states_are_all_offered_in_the_authors_order() -> None:
    bill = trait_of("bill", states="d c b a")
    assert trait.make_ask(bill, {"a": 0.9, "b": 0.1}, {"b": 1.0}).choices == ("d", "c", "b", "a")


def test_of_more_the_two_likeliest_and_the_next_are_offered_in_the_authors_order() -> None:
    bill = trait_of("bill", states="f e d c b a")
    shown = {"a": 0.88, "c": 0.07, "d": 0.05}
    other = {"b": 0.9, "e": 0.1}
    assert trait.make_ask(bill, shown, other).choices == ("e", "c", "b", "a")


@given(
    shown=st.lists(st.floats(0.01, 1), min_size=7, max_size=7),
    other=st.lists(st.floats(0.01, 1), min_size=7, max_size=7),
    count=st.integers(2, 7),
)
def test_either_forms_likeliest_state_is_always_offered(shown: list[float], other: list[float], count: int) -> None:
    states = tuple(State(str(place), str(place)) for place in range(count))
    bill = Trait("bill", "Bill", "bill", TraitKind.STRUCTURE, states)
    first, second = ({state.key: weight for state, weight in zip(states, weights, strict=False)} for weights in (shown, other))
    ask, turned = trait.make_ask(bill, first, second), trait.make_ask(bill, second, first)
    assert len(ask.choices) == min(count, trait.MOST_CHOICES)
    assert {ask.key, turned.key} <= set(ask.choices)
    # What is offered does not tell which form is shown.
    assert ask.choices == turned.choices


@pytest.mark.parametrize(
    ("shown", "other", "may"),
    [
        (parted(0.85), parted(0.1), True),
        (parted(0.84), parted(0.1), False),  # the key would be wrong too often
        (parted(0.98), parted(0.6), False),  # both usually show the same
        (parted(0.98), parted(0.5), False),
        (parted(0.98), parted(0.4), True),
    ],
)
def test_trait_is_asked_where_the_key_is_sure_and_parts_the_two(shown: dict[str, float], other: dict[str, float], may: bool) -> None:
    assert trait.may_be_asked(trait_of("bill"), shown, other) is may


def test_usually_stays_sure_where_filling_rounds_it_down() -> None:
    bill = trait_of("bill", states="one b c d e f g h")
    shown = fill_chances({"one": 0.85}, [state.key for state in bill.states])
    assert shown["one"] < trait.SURE_CHANCE
    assert trait.may_be_asked(bill, shown, {"h": 1.0})
