"""Facts of the trade that the engine must bring out by itself. Each is common practice, no source; the catalogues are made for it."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from drillhall.core.kinds import form as form_kind
from drillhall.core.optics import FarView, what_is_left
from drillhall.core.reading import next_traits, priors_of, read
from drillhall.core.traits import DECIDES_BITS, deciding, misleading, order_of_telling
from drillhall.core.values import Form, FormTraits, Pair, PairLore, State, Third, Trait, TraitKind


def states(*keys: str) -> tuple[State, ...]:
    return tuple(State(key, key.replace("_", " ")) for key in keys)


def two(first: str, second: str, sure: float, less: float) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """How often either form shows the first of two states."""
    return {first: sure, second: 1 - sure}, {first: less, second: 1 - less}


def lore(
    *told: tuple[Trait, tuple[Mapping[str, float], Mapping[str, float]]],
    thirds: tuple[Third, ...] = (),
    names: tuple[str, str] = ("One", "Other"),
) -> PairLore:
    return PairLore(
        pair=Pair(1, Form(1, names[0], names[0]), Form(2, names[1], names[1])),
        traits=tuple(trait for trait, _ in told),
        chances={form: {trait.key: both[form - 1] for trait, both in told} for form in (1, 2)},
        thirds=thirds,
        third_forms=tuple(Form(third.form_id, f"Third {third.form_id}", "") for third in thirds),
    )


BODY = Trait("body_tone", "Body", "body", TraitKind.COLOUR, states("dark", "middling", "pale"))
TAIL = Trait("tail_edge", "Tail edge", "tail", TraitKind.PATTERN, states("dark", "whitish"))
BILL = Trait("bill_colour", "Bill", "bill", TraitKind.COLOUR, states("yellowish", "olive"))


def test_body_tone_overlaps_and_the_tail_edge_decides() -> None:
    """Common practice, no source: a dark dabbling duck against the female of a paler relative."""
    tones = ({"dark": 0.5, "middling": 0.4, "pale": 0.1}, {"dark": 0.15, "middling": 0.45, "pale": 0.4})
    found = lore((BODY, tones), (TAIL, two("dark", "whitish", 0.95, 0.04)))
    ranked = order_of_telling(found)
    assert [worth.trait.key for worth in ranked] == ["tail_edge", "body_tone"]
    assert ranked[0].decides
    assert not ranked[1].decides
    best = deciding(found, frozenset({"body_tone", "tail_edge"}))
    assert best is not None
    assert best.trait.key == "tail_edge"


def test_its_male_and_female_differ_in_the_bill_alone() -> None:
    """Common practice, no source: only the colour of the bill tells its male from its female; a hard pair with a short list."""
    same = {"dark": 0.9, "middling": 0.08, "pale": 0.02}
    found = lore((BODY, (same, same)), (TAIL, two("dark", "whitish", 0.95, 0.95)), (BILL, two("yellowish", "olive", 0.85, 0.15)))
    worth_telling = [worth for worth in order_of_telling(found) if worth.parts_them]
    assert [worth.trait.key for worth in worth_telling] == ["bill_colour"]
    assert not worth_telling[0].decides  # 0.39 bits: one bird in seven is called wrong by it
    assert worth_telling[0].bits < DECIDES_BITS
    assert deciding(found, frozenset({"body_tone", "tail_edge"})) is None  # with the bill hidden, nothing is left


FACE = Trait("face_front", "Front of the face", "head", TraitKind.PATTERN, states("white", "plain"))


def test_white_at_the_front_of_the_face_tells_the_pair_and_misleads_for_the_set() -> None:
    """Common practice, no source: it does not settle one small teal, for females of some diving ducks show it too."""
    thirds = (Third(3, "face_front"), Third(4, "face_front"))
    found = lore((FACE, two("white", "plain", 0.9, 0.05)), (BODY, two("dark", "pale", 0.6, 0.4)), thirds=thirds)
    assert order_of_telling(found)[0].trait.key == "face_front"
    assert [(worth.trait.key, worth.third_ids) for worth in misleading(found)] == [("face_front", (3, 4))]
    told: dict[int, FormTraits] = {
        **found.chances,
        3: {"face_front": {"white": 0.85, "plain": 0.15}},
        4: {"face_front": {"white": 0.6, "plain": 0.4}},
    }
    assert read({"face_front": "white"}, told).chances[1] < 0.5


BAR = Trait("upright_bar", "Bar at the breast side", "side", TraitKind.PATTERN, states("white_bar", "none"))
STRIPE = Trait("lying_stripe", "Stripe above the flank", "side", TraitKind.PATTERN, states("white_stripe", "none"))


@pytest.mark.parametrize("names", [("Lesser Pondling", "Lesser Pondling"), ("Western Pondling", "Eastern Pondling")])
def test_two_teal_are_told_apart_whether_one_list_lumps_them_or_not(names: tuple[str, str]) -> None:
    """Common practice, no source: an upright white bar against a lying stripe; one name under one list, two under another."""
    found = lore((BAR, two("white_bar", "none", 0.95, 0.05)), (STRIPE, two("white_stripe", "none", 0.05, 0.95)), names=names)
    assert [worth.trait.key for worth in order_of_telling(found)] == ["upright_bar", "lying_stripe"]
    assert all(worth.decides for worth in order_of_telling(found))
    # The question asks for the form, so that it has two answers under either list.
    ask = form_kind.make_ask(found.pair, 1, neither=False)
    assert ask.choices == ("1", "2")
    assert form_kind.is_right(ask, "1")
    assert not form_kind.is_right(ask, "2")


HEAD = Trait("head_shape", "Head", "head", TraitKind.STRUCTURE, states("square_steep", "round"))


def test_the_head_learnt_on_the_marked_male_is_offered_first_for_the_female() -> None:
    """Common practice, no source: a squarish head with a steep forehead is shared by both sexes; structure first at like worth."""
    heads, tones = two("square_steep", "round", 0.9, 0.1), two("dark", "pale", 0.9, 0.1)
    males = lore((BILL, two("yellowish", "olive", 0.97, 0.03)), (HEAD, heads))
    females = lore((BODY, tones), (HEAD, heads))
    assert "head_shape" in [worth.trait.key for worth in order_of_telling(males)]
    assert order_of_telling(females)[0].trait.key == "head_shape"


FLANK = Trait("flank", "Flank", "side", TraitKind.COLOUR, states("grey", "vinous"))
CROWN = Trait("crown", "Head", "head", TraitKind.COLOUR, states("chestnut", "grey_buff"))
VISITOR: dict[int, FormTraits] = {
    1: {"flank": {"grey": 0.92, "vinous": 0.08}, "crown": {"chestnut": 0.95, "grey_buff": 0.05}},
    2: {"flank": {"grey": 0.04, "vinous": 0.96}, "crown": {"chestnut": 0.05, "grey_buff": 0.95}},
}


def test_a_scarce_visitor_is_neither_impossible_nor_certain_by_one_mark() -> None:
    """Common practice, no source: grey flanks and a chestnut head beside a common relative with vinous flanks."""
    priors = priors_of({1: "rare", 2: "abundant"})
    before = read({}, VISITOR, priors=priors).chances[1]
    one_mark = read({"flank": "grey"}, VISITOR, priors=priors).chances[1]
    both = read({"flank": "grey", "crown": "chestnut"}, VISITOR, priors=priors).chances[1]
    assert 0 < before < 0.02
    assert before < one_mark < 0.5
    assert 0.5 < both < 1
    assert VISITOR[1]["flank"]["grey"] / VISITOR[2]["flank"]["grey"] == pytest.approx(23)
    ranked = next_traits(read({"flank": "grey"}, VISITOR, priors=priors), (FLANK, CROWN), VISITOR)
    assert [one.trait.key for one in ranked] == ["crown"]


BODY_MM, BAR_MM, BARRING_MM = 360.0, 12.0, 1.5
"""A small teal, the width of its upright bar, and the pitch of the fine barring on its flank; rough sizes, common practice, no source."""


def test_far_off_the_fine_barring_is_lost_and_the_upright_bar_is_not() -> None:
    """Common practice, no source: fine barring becomes plain grey far off; the bar stays, so its trait stays askable."""
    left = what_is_left(BODY_MM, FarView(distance_m=200, magnification=8))
    assert BARRING_MM < left.detail_mm < BAR_MM
