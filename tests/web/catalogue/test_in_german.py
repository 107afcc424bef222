"""The pages on which a catalogue is written, for a steward who reads German: told and typed in it, kept as ever."""

from __future__ import annotations

import pytest

from tests.visits import WISHES
from tests.web.catalogue.writing import PAIR, TELLING, Written

WING = "/traits/wing_tip/forms"
CELL = "chance.grey_weirgull_adult.wing_tip.black"


@pytest.fixture
def german(gulls: Written) -> Written:
    assert gulls.post(PAIR, TELLING).status_code == 303
    assert gulls.visitor.post("/settings", WISHES | {"language": "de"}).status_code == 303
    return gulls


def test_how_often_is_told_in_german(german: Written) -> None:
    page = german.get(WING).text
    assert f'name="{CELL}" value="immer"' in page
    assert 'value="19 von 20"' in page


@pytest.mark.parametrize(("typed", "kept"), [("Meistens", "usually"), ("17 von 20", "17 of 20"), ("rarely", "rarely")])
def test_how_often_may_be_typed_in_german(german: Written, typed: str, kept: str) -> None:
    assert german.post(WING, {CELL: typed}).status_code == 303
    german.visitor.post("/settings", WISHES | {"language": "en"})
    assert f'name="{CELL}" value="{kept}"' in german.get(WING).text


def test_a_word_that_is_none_is_refused(german: Written) -> None:
    assert german.post(WING, {CELL: "allzeit"}).status_code == 422


def test_the_history_says_in_german_what_was_done(german: Written) -> None:
    words = german.words("/history")
    assert "Grey Weirgull, erwachsen hinzugefügt" in words
    assert "changed" not in words
