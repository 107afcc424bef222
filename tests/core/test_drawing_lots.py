"""The picture of a day: the same for everybody, spread fairly, not soon again, and steady while pictures come and go."""

from __future__ import annotations

import hmac
from collections import Counter
from datetime import date, timedelta
from hashlib import sha256

from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.drawing_lots import Drawn, OnOffer, draw_for_day

OFFERS = (OnOffer(1, (10, 11, 12), (20, 21, 22)), OnOffer(2, (30, 31), (40, 41, 42, 43)))
BEGIN = date(2031, 3, 1)
DAYS = [BEGIN + timedelta(days=number) for number in range(400)]


def test_the_same_secret_and_day_draw_the_same() -> None:
    assert [draw_for_day(OFFERS, seed="a", day=day) for day in DAYS] == [draw_for_day(OFFERS, seed="a", day=day) for day in DAYS]


def test_another_secret_draws_otherwise() -> None:
    """A guess that knows all but the secret is right no more often than by chance: one in eleven or so."""
    ours, theirs = ([draw_for_day(OFFERS, seed=seed, day=day) for day in DAYS] for seed in ("ours", "theirs"))
    assert sum(one == other for one, other in zip(ours, theirs, strict=True)) < len(DAYS) / 5


def test_the_hash_is_the_standards_own() -> None:
    """RFC 2104 by hand: H((K xor opad) || H((K xor ipad) || text)), K filled up to the 64 bytes of a SHA-256 block."""
    key, text = b"seed".ljust(64, b"\0"), b"2031-03-04 pair 7"
    inner = sha256(bytes(one ^ 0x36 for one in key) + text).digest()
    assert sha256(bytes(one ^ 0x5C for one in key) + inner).digest() == hmac.digest(b"seed", text, "sha256")
    offers = [OnOffer(number, (number * 10,), (number * 10 + 1,)) for number in range(1, 9)]
    drawn = draw_for_day(offers, seed="seed", day=date(2031, 3, 4))
    assert drawn is not None
    assert drawn.pair_id == max(range(1, 9), key=lambda pair: hmac.digest(b"seed", f"2031-03-04 pair {pair}".encode(), "sha256"))


def test_both_forms_of_a_pair_come_equally_often() -> None:
    """400 draws of two equal sides: 200 each, give or take 4 standard deviations of the binomial, sqrt(400 / 4) = 10."""
    offer = (OnOffer(1, (10,), (20, 21, 22, 23)),)
    counted = Counter((drawn.picture_id < 20) for day in DAYS if (drawn := draw_for_day(offer, seed="fair", day=day)))
    assert abs(counted[True] - 200) < 40


def test_a_picture_does_not_come_again_soon() -> None:
    recent: list[Drawn] = []
    for day in DAYS[:60]:
        drawn = draw_for_day(OFFERS[:1], seed="b", day=day, recent=recent)
        assert drawn is not None
        assert not recent or drawn.picture_id != recent[0].picture_id
        recent.insert(0, drawn)
    assert {one.picture_id for one in recent} == {10, 11, 12, 20, 21, 22}


def test_the_only_picture_of_a_form_may_come_every_day() -> None:
    only = (OnOffer(1, (10,), (20,)),)
    recent = [Drawn(1, 10), Drawn(1, 20)]
    assert draw_for_day(only, seed="c", day=BEGIN, recent=recent) is not None


def test_nothing_on_offer_draws_nothing() -> None:
    assert draw_for_day((), seed="a", day=BEGIN) is None


@given(st.integers(0, 399))
def test_a_picture_that_goes_changes_no_day_on_which_another_was_shown(number: int) -> None:
    """What the highest hash is for: taking one away can only matter where it was the highest."""
    day = DAYS[number]
    before = draw_for_day(OFFERS, seed="d", day=day)
    after = draw_for_day((OnOffer(1, (10, 11), (20, 21, 22)), OFFERS[1]), seed="d", day=day)
    assert before is not None
    assert after == before or before.picture_id == 12
