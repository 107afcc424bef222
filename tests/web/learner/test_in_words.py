"""A drill in words, page by page, and the wish for it."""

from __future__ import annotations

import re
from html import unescape

from tests import cast
from tests.practice.small_hall import SmallHall
from tests.visits import WISHES, Hall, Visitor
from tests.web.learner.test_pages import words


def the_bird(visitor: Visitor, address: str) -> tuple[str, list[str]]:
    """Return the number of the bird that is asked, and what may be said of it."""
    page = unescape(visitor.get(address).text)
    if "Begin with these two" in page:
        page = unescape(visitor.get(re.findall(r'href="([^"]*met=\d+)"', page)[0]).text)
    return re.findall(r'name="bird" value="(\d+)"', page)[0], re.findall(r'name="answer" value="([^"]+)"', page)


def test_a_bird_is_told_answered_and_explained(learner: Visitor, small: SmallHall) -> None:
    address = learner.post("/words").location
    assert "New to you in words" in words(learner, address)
    bird, answers = the_bird(learner, address)
    assert len(answers) == 6
    told = learner.post(address, {"bird": bird, "answer": answers[0]})
    assert told.status_code == 303
    page = learner.get(told.location).text
    assert re.search(r"<title>(Right|Missed): \w+ mudpiper", page)
    assert "Bill: " in unescape(page)
    assert "Next description" in page
    for _ in range(20):
        if "That was the drill in words" in learner.get(address).text:
            break
        bird, answers = the_bird(learner, address)
        learner.post(address, {"bird": bird, "answer": answers[0]})
    assert '<b class="num">9</b> right' in words(learner, address)
    assert "You named" not in words(learner, "/words")
    assert "Pairs you have met in words" in words(learner, "/words")


def test_no_page_that_asks_tells_the_answer(learner: Visitor, small: SmallHall) -> None:
    address = learner.post("/words").location
    the_bird(learner, address)
    for told in ("0", "1", "-1", "x"):
        assert not re.search("<title>(Right|Missed)", learner.get(f"{address}?told={told}").text)


def test_what_is_no_answer_is_refused_and_nothing_is_kept(learner: Visitor, small: SmallHall) -> None:
    address = learner.post("/words").location
    bird, answers = the_bird(learner, address)
    for said in ("", "x:certain", "999:certain", answers[0].replace("certain", "surely")):
        assert learner.post(address, {"bird": bird, "answer": said}).status_code == 422
    assert learner.post(address, {"bird": "one", "answer": answers[0]}).status_code == 422
    assert the_bird(learner, address)[0] == bird


def test_anothers_drill_is_not_there(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    address = learner.post("/words").location
    other = hall.enter(cast.STRANGER)
    assert other.get(address).status_code == 404
    assert other.post(address, {"bird": "1", "answer": "1:certain"}).status_code == 404
    assert other.post("/words").status_code == 409


def test_whoever_wishes_it_finds_words_on_today_and_no_picture(learner: Visitor, small: SmallHall) -> None:
    assert "Start a drill in words" not in words(learner, "/")
    assert 'href="/words"' in learner.get("/").text
    learner.post("/settings", WISHES | {"in_words": "yes", "letter_keys": "yes"})
    today = learner.get("/").text
    assert "Start a drill in words" in today
    assert "<img" not in today
    address = learner.post("/words").location
    assert address in learner.get("/").text
