"""Wherever a pair or a round is put before a learner, the page says in words why."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from drillhall.practice.playing import WHY_WORDS
from drillhall.practice.today import TodayPage, the_today
from drillhall.web.learner import pages
from tests.practice.small_hall import SmallHall
from tests.visits import Visitor
from tests.web.learner.test_pages import words


def test_every_pair_of_todays_drill_says_why_it_is_there(learner: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    def twice(*given: object, **more: object) -> TodayPage:
        page = the_today(*given, **more)  # type: ignore[arg-type]  # handed on as they came
        return replace(page, lines=page.lines * 2)

    monkeypatch.setattr(pages, "the_today", twice)
    page = words(learner, "/")
    assert "and 2 more pairs" in page
    assert page.count("New today: you meet them first") == 6


def test_a_pair_met_and_a_question_about_it_say_why(learner: Visitor) -> None:
    assert learner.post("/drills").status_code == 303
    meeting = words(learner, "/drill")
    assert "You have not met these two yet." in meeting
    onward = re.search(r'data-begin href="([^"]+)"', meeting)
    assert onward is not None
    asked = words(learner, onward[1].replace("&amp;", "&"))
    assert 'data-panel="asked"' in asked
    why = next(f"{one}." for one in WHY_WORDS.values() if f"{one}." in asked)
    hidden = dict(re.findall(r'type="hidden" name="(id|showing|ask|shown_at)" value="([^"]*)"', asked))
    choice = re.search(r'name="answer" value="([^"]+)"', asked)
    assert choice is not None
    told = words(learner, learner.post("/drills/answers", {**hidden, "answer": choice[1]}).location)
    assert 'data-panel="answered"' in told
    assert why in told


def test_a_trial_says_that_she_asked_for_it(learner: Visitor, small: SmallHall) -> None:
    address = learner.post(f"/pairs/{small.pairs[0]}/try").location
    assert "You said that you know these two" in words(learner, address)
    assert "You have not met these two yet" not in words(learner, f"/pairs/{small.pairs[0]}")


def test_a_rarity_drill_says_that_she_asked_for_it_and_what_is_rare(learner: Visitor, small: SmallHall) -> None:
    asked = {"rare": str(small.forms[1]), "one_in": "4", "showings": "8"}
    address = learner.post(f"/pairs/{small.pairs[0]}/rarity", asked).location
    assert "You asked for this drill" in words(learner, address)
