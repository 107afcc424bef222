"""A hall in which too many wait turns others away in order, and lets them in again as soon as it can."""

from __future__ import annotations

import pytest
from werkzeug.test import Client, TestResponse
from werkzeug.wrappers import Response

from drillhall.web.shedding import Shed


def ask(waiting: int, path: str = "/", turned_away: list[int] | None = None) -> TestResponse:
    told = [] if turned_away is None else turned_away
    return Client(Shed(Response("in"), most=2, waiting=lambda: waiting, tell=lambda: told.append(1))).get(path)


@pytest.mark.parametrize("waiting", [0, 2])
def test_while_few_wait_everybody_is_let_in(waiting: int) -> None:
    turned_away: list[int] = []
    assert ask(waiting, turned_away=turned_away).text == "in"
    assert turned_away == []


def test_beyond_that_one_is_told_when_to_come_back_and_counted() -> None:
    turned_away: list[int] = []
    answer = ask(3, turned_away=turned_away)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "3")
    assert "Nothing is lost" in answer.text
    assert turned_away == [1]


def test_whether_it_is_up_is_told_even_then() -> None:
    assert ask(99, "/health").text == "in"
    assert ask(99, "/healthy").status_code == 503
