"""What is ahead, as a page that needs no script."""

from __future__ import annotations

import pytest

from tests import cast
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import answers_to, begin, send
from tests.web.learner.test_pages import words


def test_after_a_drill_the_weeks_and_what_fades_are_told(hall: Hall, learner: Visitor) -> None:
    send(learner, answers_to(begin(learner), hall.clock().isoformat()))
    assert "/standing/ahead" in words(learner, "/standing")
    page = words(learner, "/standing/ahead")
    assert "Coming drills" in page
    assert "Told in words alone" in page
    assert "could go either way" in page
    assert "Lesser mudpiper" in page


@pytest.mark.parametrize(("by", "sentence"), [("soon", "A day is written like"), ("2099-01-01", "nobody can see further")])
def test_a_day_that_cannot_be_looked_at_is_told_beside_its_field(hall: Hall, learner: Visitor, by: str, sentence: str) -> None:
    send(learner, answers_to(begin(learner), hall.clock().isoformat()))
    refused = learner.get(f"/standing/ahead?by={by}")
    assert refused.status_code == 422
    assert sentence in refused.text
    assert 'aria-describedby="by-mend"' in refused.text


def test_a_newcomer_is_sent_to_the_shelf(hall: Hall, small: SmallHall) -> None:
    assert "/shelf" in words(hall.enter(cast.STRANGER), "/standing/ahead")
