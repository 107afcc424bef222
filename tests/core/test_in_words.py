"""Birds told in words: what is told makes the form clear, now and then against the grain, and pairs come back by their own memory."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest

from drillhall.core.in_words import (
    CLEAR_FROM,
    DESCRIPTIONS,
    MOST_PAIRS,
    MOST_TRAITS,
    WordRound,
    can_be_told,
    choose_pairs,
    describe,
    memories_in_words,
    what_it_says,
)
from drillhall.core.memory import USUAL_PARAMETERS, due_day
from drillhall.core.reading import read
from drillhall.core.values import Form, Outcome, Pair, PairLore, State, Trait, TraitKind

FIRST, SECOND = Form(1, "Marsh fiddler", "Fidicen paludis"), Form(2, "Sluice fiddler", "Fidicen clausae")
DAY = date(2031, 3, 3)


def trait(key: str) -> Trait:
    return Trait(key, key.capitalize(), key, TraitKind.STRUCTURE, (State("long", "long"), State("short", "short")))


def lore(**chances: tuple[float, float]) -> PairLore:
    """Return a pair of which so many of either form have each trait long."""
    said = {
        form.id: {key: {"long": both[place], "short": 1 - both[place]} for key, both in chances.items()}
        for place, form in enumerate((FIRST, SECOND))
    }
    return PairLore(Pair(5, FIRST, SECOND), tuple(trait(key) for key in chances), said)


RICH = lore(bill=(0.95, 0.1), legs=(0.2, 0.85), tail=(0.7, 0.4), crown=(0.5, 0.5), neck=(0.9, 0.15))


def rounds(*missed: int, pair: int = 5, gap: int = 3) -> list[WordRound]:
    return [WordRound(pair, DAY + timedelta(days=gap * place), DESCRIPTIONS, one, 0) for place, one in enumerate(missed)]


@pytest.mark.parametrize("form", [1, 2])
def test_every_description_makes_its_form_clear_by_bayes_rule(form: int) -> None:
    told = [describe(RICH, form, dice=Random(seed)) for seed in range(200)]
    assert all(read(dict(one), RICH.chances).chances[form] >= CLEAR_FROM for one in told)
    assert all(1 <= len(one) <= MOST_TRAITS for one in told)
    assert {key for one in told for key, _ in one} == {"bill", "legs", "tail", "neck"}
    assert len(set(told)) > 4


def test_now_and_then_a_state_speaks_for_the_other_form() -> None:
    told = [describe(RICH, 1, dice=Random(seed)) for seed in range(200)]
    against = sum(("tail", "short") in one for one in told)
    assert 0 < against < 100


def test_what_hardly_any_of_them_shows_is_not_told() -> None:
    rare = lore(bill=(0.97, 0.1), neck=(0.96, 0.3))
    told = {one for seed in range(300) for one in describe(rare, 1, dice=Random(seed))}
    assert told == {("bill", "long"), ("neck", "long")}


def test_the_order_of_telling_is_the_catalogues_and_gives_nothing_away() -> None:
    places = [trait.key for trait in RICH.traits]
    for seed in range(40):
        keys = [key for key, _ in describe(RICH, 2, dice=Random(seed))]
        assert keys == sorted(keys, key=places.index)


def test_the_same_dice_tell_the_same_bird() -> None:
    assert describe(RICH, 1, dice=Random(4)) == describe(RICH, 1, dice=Random(4))


def test_a_pair_whose_traits_tell_too_little_is_not_told() -> None:
    weak = lore(tail=(0.6, 0.4))
    assert not can_be_told(weak)
    assert not can_be_told(lore(crown=(0.5, 0.5)))
    assert not can_be_told(lore())
    with pytest.raises(ValueError, match="clear"):
        describe(weak, 1, dice=Random(1))
    assert can_be_told(RICH)


def test_what_is_hard_to_see_is_told_all_the_same() -> None:
    plain = lore(bill=(0.95, 0.1))
    hidden = PairLore(plain.pair, plain.traits, plain.chances, hard_to_see=frozenset({"bill"}))
    assert can_be_told(hidden)
    assert describe(hidden, 1, dice=Random(1)) == (("bill", "long"),)


def test_the_trait_that_says_most_is_explained_first_and_lost_ones_are_left_out() -> None:
    says = what_it_says(RICH, (("tail", "long"), ("bill", "long"), ("beard", "long"), ("legs", "curled")))
    assert [(one.trait, one.first_in_100, one.second_in_100) for one in says] == [("bill", 95, 10), ("tail", 70, 40)]


def test_rounds_in_words_are_graded_as_rounds_of_pictures_are_but_nobody_is_timed() -> None:
    told = {
        0: WordRound(5, DAY, 3, 0, 0),
        1: WordRound(5, DAY, 3, 1, 0),
        2: WordRound(5, DAY, 3, 0, 2),
        3: WordRound(5, DAY, 2, 1, 0),
    }
    last = {key: memories_in_words([one])[5].last for key, one in told.items()}
    assert last == {0: Outcome.HELD, 1: Outcome.MISSED, 2: Outcome.UNSURE, 3: Outcome.MISSED}


def test_a_round_left_half_way_without_a_miss_is_not_rated() -> None:
    assert memories_in_words([WordRound(5, DAY, 2, 0, 0)]) == {}


def test_of_one_day_the_first_round_counts() -> None:
    twice = memories_in_words([WordRound(5, DAY, 3, 2, 0), WordRound(5, DAY, 3, 0, 0)])[5]
    assert (twice.rounds, twice.last) == (1, Outcome.MISSED)


def test_what_is_held_comes_back_later_than_what_is_missed() -> None:
    memories = memories_in_words([*rounds(0, 0, 0, pair=5), *rounds(0, 1, 1, pair=6)])
    chosen = choose_pairs([5, 6], memories, today=DAY + timedelta(days=9), account_id=1, new=0)
    assert memories[5].held_running == 3
    assert chosen == (6,)


def test_due_pairs_come_before_new_ones_and_at_most_five_in_all() -> None:
    memories = memories_in_words([one for pair in (1, 2, 3) for one in rounds(1, pair=pair)])
    later = DAY + timedelta(days=30)
    assert choose_pairs(list(range(1, 10)), memories, today=later, account_id=1, new=9)[:3] == (1, 2, 3)
    assert len(choose_pairs(list(range(1, 10)), memories, today=later, account_id=1, new=9)) == MOST_PAIRS
    assert choose_pairs([1, 9], memories, today=later, account_id=1, new=0) == (1,)


def test_pairs_fall_due_by_the_numbers_their_memories_were_folded_by() -> None:
    hers = (*USUAL_PARAMETERS[:20], 0.5)  # a memory that fades late: at a low target it comes back far later
    memories = memories_in_words(rounds(0, 0), parameters=hers)
    due = due_day(memories[5], target_recall=0.7, account_id=1, pair_id=5, parameters=hers)
    for day, chosen in ((due, (5,)), (due - timedelta(days=1), (8,))):
        assert choose_pairs([5, 8], memories, today=day, account_id=1, target=0.7, parameters=hers, new=1)[:1] == chosen


def test_there_is_always_a_drill_to_be_had_where_there_are_pairs() -> None:
    memories = memories_in_words(rounds(0, 0))
    assert choose_pairs([5], memories, today=DAY + timedelta(days=3), account_id=1, new=0) == (5,)
    assert choose_pairs([8], {}, today=DAY, account_id=1, new=0) == (8,)
    assert choose_pairs([], {}, today=DAY, account_id=1, new=5) == ()
