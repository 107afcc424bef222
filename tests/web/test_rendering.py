"""What is made once in a request is what would be made again: told apart by what it is made of, and forgotten with the request."""

from __future__ import annotations

from flask import url_for
from markupsafe import Markup

from drillhall.practice.packets import Choice
from drillhall.web.rendering import address_of, once
from tests.visits import Hall


def test_the_same_is_made_once_and_other_things_anew(hall: Hall) -> None:
    made: list[object] = []

    def macro(*given: object) -> Markup:
        made.append(given)
        return Markup(repr(given))

    with hall.app.test_request_context("/"):
        one, other, words = [1], [1], "seen".lower()
        again = [once(macro, one, (Choice("1", words),), True), once(macro, one, (Choice("1", "seen"),), True)]
        assert again[0] is again[1]
        assert len(made) == 1, "choices are known by what they say"
        for given in ((other, (Choice("1", words),), True), (one, (Choice("2", words),), True), (one, (Choice("1", words),), 1)):
            assert once(macro, *given) == Markup(repr(given))
        assert len(made) == 4
    with hall.app.test_request_context("/"):
        once(macro, one, (Choice("1", words),), True)
        assert len(made) == 5, "nothing is kept from one request to the next"


def test_what_is_made_of_something_passing_is_not_taken_for_the_next_in_its_place(hall: Hall) -> None:
    with hall.app.test_request_context("/"):
        assert [once(copied, [number])[0] for number in range(50)] == list(range(50))


def test_an_address_found_once_is_that_of_its_page_and_of_what_it_is_asked(hall: Hall) -> None:
    asked = (
        ("learner.meet", {"pair_id": 1}),
        ("learner.meet", {"pair_id": 2}),
        ("learner.drill", {"met": 1}),
        ("learner.drill", {"hint": 1}),
    )
    with hall.app.test_request_context("/"):
        for _ in range(2):
            assert [address_of(page, **values) for page, values in asked] == [url_for(page, **values) for page, values in asked]


def copied(given: list[int]) -> list[int]:
    return list(given)
