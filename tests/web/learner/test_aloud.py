"""What a drill's markup gives a screen reader to say: names that the eye finds elsewhere, and answers that differ by ear."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import update

from drillhall.store.models.concepts import FormRow, VernacularRow
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import begin


def forms_asked(packet: dict[str, Any]) -> list[dict[str, Any]]:
    asks = [ask for one in packet["rounds"] for showing in one["showings"] for ask in showing["asks"]]
    return [ask for ask in asks if ask["kind"] == "form"]


def told(html: str) -> str:
    """Return what the status of the drill comes to say: the lines of an explanation that are told."""
    lines = re.findall(r"<(h1|p) data-told>(.*?)</\1>", html, re.DOTALL)
    return " ".join(re.sub("<[^>]+>", "", words) for _, words in lines)


def test_a_name_too_long_for_the_heading_is_said_with_the_state_seen(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    with hall.store.work() as db:
        db.execute(update(VernacularRow).values(name=VernacularRow.name + " of the farthest flats"))
    for ask in forms_asked(begin(learner)):
        for html in ask["feedback_html"].values():
            assert re.search(r"(Right|Missed): \w+ mudpiper of the farthest flats", told(html))
            assert re.search(r"[Bb]ill.* Here: (straight|curved)\.", told(html))
            assert '<span class="unseen">: <span lang="en">' in html


def test_two_forms_of_one_name_have_answers_of_two_names(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    with hall.store.work() as db:
        db.execute(update(VernacularRow).values(name="Mudpiper"))
        for number, form_id in enumerate(small.forms):
            db.execute(update(FormRow).where(FormRow.id == form_id).values(plumage=f"plumage {number}"))
    for ask in forms_asked(begin(learner)):
        answers = re.findall(r'<span class="unseen">([^<]+), </span>certain', ask["question_html"])
        assert len(answers) == len(set(answers)) == 2
