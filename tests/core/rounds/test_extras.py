"""Extras: of steady pairs alone, of pictures she knows, where a deciding trait is left to be seen; and they prove nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from drillhall.core.confusion import directions, told_apart
from drillhall.core.rounds import build_round
from drillhall.core.rounds.extras import EXTRA_SHARE, survivors
from drillhall.core.values import Candidate, Form, Pair, PairLore, Rendition, RoundNeeds, Standing, State, TallyKey, Trait, TraitKind

NOW = datetime(2031, 3, 3, 12, tzinfo=UTC)
LONG_AGO = NOW - timedelta(days=9)
BOTH = frozenset({Rendition.FAR_OFF, Rendition.SHAPE_ONLY})
BILL = Trait("bill", "Bill", "bill", TraitKind.STRUCTURE, (State("a", "straight"), State("b", "curved")))
LEGS = Trait("legs", "Legs", "leg", TraitKind.COLOUR, (State("a", "dark"), State("b", "pale")))
BARS = Trait("bars", "Flank bars", "flank", TraitKind.PATTERN, (State("a", "fine"), State("b", "none")))
SIDES = {1: {"a": 0.98, "b": 0.02}, 2: {"a": 0.02, "b": 0.98}}


def lore(*traits: Trait) -> PairLore:
    chances = {form: {trait.key: SIDES[form] for trait in traits} for form in SIDES}
    return PairLore(Pair(1, Form(1, "One", "Fictavis unus"), Form(2, "Other", "Fictavis alter")), traits, chances)


def shelf(seen_at: datetime | None = LONG_AGO, *, may_alter: bool = True, renditions: frozenset[Rendition] = BOTH) -> list[Candidate]:
    return [Candidate(number, 1 + number % 2, seen_at=seen_at, may_alter=may_alter, renditions=renditions) for number in range(20)]


def extras(told: PairLore, pictures: list[Candidate], settled: Standing = Standing.STEADY, rounds: int = 60) -> list[Rendition]:
    """Return the renditions of the extras in so many rounds."""
    needs = RoundNeeds(told, 3, rounds_before=9, settled=settled, third_share=0.0)
    built = [build_round(needs, pictures, now=NOW, dice=Random(seed)) for seed in range(rounds)]
    assert all(showing.rendition is Rendition.AS_TAKEN for one in built for showing in one[:3])
    return [showing.rendition for one in built for showing in one[3:]]


def test_about_one_round_in_three_of_a_steady_pair_ends_on_one() -> None:
    found = extras(lore(BILL), shelf())
    assert abs(len(found) / 60 - EXTRA_SHARE) < 0.15
    assert set(found) == set(BOTH)


@pytest.mark.parametrize("settled", [Standing.UNMET, Standing.SHAKY])
def test_a_pair_that_is_not_steady_gets_none(settled: Standing) -> None:
    assert extras(lore(BILL), shelf(), settled) == []


@pytest.mark.parametrize(
    "pictures",
    [shelf(may_alter=False), shelf(renditions=frozenset()), shelf(None), shelf(NOW - timedelta(hours=2))],
    ids=["may not be altered", "none kept", "never seen", "seen just now"],
)
def test_pictures_that_are_not_fit_for_it(pictures: list[Candidate]) -> None:
    assert extras(lore(BILL), pictures) == []


def test_only_where_a_deciding_trait_is_left() -> None:
    assert set(extras(lore(LEGS), shelf())) == {Rendition.FAR_OFF}, "a shape has no colour"
    assert extras(lore(BARS), shelf()) == [], "fine barring runs together"
    hidden = [replace(one, shows=frozenset({"legs"})) for one in shelf()]
    assert set(extras(lore(BILL, LEGS), hidden)) == {Rendition.FAR_OFF}, "the bill is hidden on these"


def test_what_is_left_to_see() -> None:
    told = lore(BILL, LEGS, BARS)
    assert survivors(told, None, Rendition.AS_TAKEN) is None
    assert survivors(told, None, Rendition.SHAPE_ONLY) == {"bill"}
    assert survivors(told, frozenset({"legs", "bars"}), Rendition.FAR_OFF) == {"legs"}


def test_their_counts_stay_out_of_rates_and_sensitivity() -> None:
    as_taken = TallyKey(1, 1, 203101, True, False, Rendition.AS_TAKEN, "", 2)
    far = replace(as_taken, said_form_id=2, rendition=Rendition.FAR_OFF)
    first, _ = directions((1, 2), {as_taken: 5, far: 7}, week_now=203101)
    assert (first.right, first.shown) == (5, 5)
    other = replace(as_taken, shown_form_id=2, said_form_id=2)
    assert told_apart((1, 2), {as_taken: 12, other: 12, far: 7}) == told_apart((1, 2), {as_taken: 12, other: 12})
