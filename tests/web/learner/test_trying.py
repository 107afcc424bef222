"""A trial, page by page."""

from __future__ import annotations

import re
from html import unescape

from tests import cast
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.learner.test_pages import words


def test_whoever_says_she_knows_a_pair_is_tried_until_enough_is_said(learner: Visitor, small: SmallHall) -> None:
    assert "try me" in words(learner, f"/pairs/{small.pairs[0]}")
    address = learner.post(f"/pairs/{small.pairs[0]}/try").location
    for _ in range(10):
        page = unescape(learner.get(address).text)
        if "Which form is this?" not in page:
            break
        hidden = dict(re.findall(r'type="hidden" name="(id|showing|ask|shown_at)" value="([^"]*)"', page))
        sent = learner.post(address, {**hidden, "answer": f"{small.forms[0]}:certain"})
        assert sent.status_code == 303
    page = words(learner, address)
    assert "You know them" in page or "Not yet" in page


def test_what_was_not_offered_is_refused(learner: Visitor, small: SmallHall) -> None:
    address = learner.post(f"/pairs/{small.pairs[0]}/try").location
    hidden = dict(re.findall(r'type="hidden" name="(id|showing|ask|shown_at)" value="([^"]*)"', learner.get(address).text))
    assert learner.post(address, {**hidden, "answer": f"{small.forms[3]}:certain"}).status_code == 422


def test_anothers_trial_is_not_there(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    address = learner.post(f"/pairs/{small.pairs[0]}/try").location
    other = hall.enter(cast.STRANGER)
    assert other.get(address).status_code == 404
    assert other.post(f"/pairs/{small.pairs[0]}/try").status_code == 404
