"""Numbers of one's own, as pages."""

from __future__ import annotations

from tests.visits import Hall, Visitor
from tests.web.learner.test_pages import words


def test_with_few_rounds_there_is_nothing_to_fit(learner: Visitor) -> None:
    assert "0 of 400" in words(learner, "/standing/own-numbers")
    sent = learner.post("/standing/own-numbers")
    assert sent.status_code == 303
    assert "nothing to offer" in words(learner, sent.location)
    assert learner.post("/standing/own-numbers/back").status_code == 303


def test_what_was_never_offered_is_not_there(hall: Hall, learner: Visitor) -> None:
    assert learner.post("/standing/own-numbers/7/take").status_code == 404
