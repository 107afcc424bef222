"""A learner who reads German: her pages tell traits in it, and mark the words that the catalogue has in its own language alone."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import update

from drillhall.store.models.people import AccountRow
from tests.practice.small_hall import SmallHall
from tests.practice.test_traits_told import say_in_german
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import begin
from tests.web.learner.test_pages import words


@pytest.fixture
def german(hall: Hall, learner: Visitor) -> Visitor:
    with hall.store.work() as db:
        say_in_german(db, but="curved")
        db.execute(update(AccountRow).values(language="de"))
    return learner


def test_a_pair_is_met_in_german_and_what_is_not_said_is_marked_english(hall: Hall, german: Visitor, small: SmallHall) -> None:
    page = words(german, f"/pairs/{small.pairs[0]}")
    assert "1 Schnabel</h2>" in page
    assert '<p class="state">gerade</p>' in page
    assert '<p class="state" lang="en">curved</p>' in page
    assert "<p>Oft in einem Trupp.</p>" in page
    with hall.store.work() as db:
        db.execute(update(AccountRow).values(language="en"))
    assert '<p class="state">curved</p>' in words(german, f"/pairs/{small.pairs[0]}")


def test_a_packet_asks_and_explains_in_german(german: Visitor) -> None:
    told = begin(german)
    packet = json.dumps(told, ensure_ascii=False)
    assert "Welche Form hat der Schnabel?" in packet
    assert "Entscheidet: Schnabel" in packet
    assert ">gerade</p>" in packet
    assert "Look at this: Bill." not in packet
    prompts = [
        ask["question_html"] for one in told["rounds"] for showing in one["showings"] for ask in showing["asks"] if ask["kind"] == "trait"
    ]
    assert prompts
    assert all('href="/parts-of-a-bird#' in prompt for prompt in prompts), "each prompt leads to its part of the bird"


def test_a_trait_is_worked_out_by_a_german_word_or_an_english_one(german: Visitor, small: SmallHall) -> None:
    for word in ("Gerade", "straight"):
        page = words(german, f"/work-it-out/{small.pair_set}?seen.bill={word}")
        assert 'name="seen.bill" value="straight" checked' in page
        assert '<span lang="en">curved' in page
    refused = german.get(f"/work-it-out/{small.pair_set}?seen.bill=krumm")
    assert refused.status_code == 422
    assert "gerade, curved" in refused.text
