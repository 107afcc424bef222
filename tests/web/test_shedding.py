"""A hall in which too many wait, or wait too long, turns others away in order, and lets them in again as soon as it can."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from werkzeug.test import Client, TestResponse
from werkzeug.wrappers import Response

from drillhall.web.shedding import Bounds, Shed


@dataclass(frozen=True)
class Waiting:
    """So many wait, and whoever asks has waited so long."""

    waiting: int
    waited: float = 0.0


def ask(queue: Waiting, path: str = "/", turned_away: list[int] | None = None, headers: dict[str, str] | None = None) -> TestResponse:
    told = [] if turned_away is None else turned_away
    return Client(Shed(Response("in"), queue, Bounds(most=9, seconds=4.0, few=2), tell=lambda: told.append(1))).get(
        path, headers=headers or {}
    )


@pytest.mark.parametrize("queue", [Waiting(0), Waiting(9), Waiting(9, 4.0), Waiting(2, 99.0)])
def test_while_few_wait_or_none_for_long_everybody_is_let_in(queue: Waiting) -> None:
    turned_away: list[int] = []
    assert ask(queue, turned_away=turned_away).text == "in"
    assert turned_away == []


@pytest.mark.parametrize("queue", [Waiting(10), Waiting(3, 4.1)])
def test_beyond_that_one_is_told_when_to_come_back_and_counted(queue: Waiting) -> None:
    turned_away: list[int] = []
    answer = ask(queue, turned_away=turned_away)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "3")
    assert "Nothing is lost" in answer.text
    assert turned_away == [1]


def test_a_browser_is_told_by_a_page_in_its_language_and_a_program_by_a_line() -> None:
    page = ask(Waiting(99), "/groups", headers={"Accept": "text/html,*/*", "Accept-Language": "de-AT,en;q=0.8"})
    assert page.mimetype == "text/html"
    assert '<html lang="de" dir="ltr">' in page.text
    assert "<h1>Die Halle hat gerade viel zu tun</h1>" in page.text
    assert "in 3 Sekunden" in page.text
    assert int(page.headers["Content-Length"]) == len(page.data)
    line = ask(Waiting(99), headers={"Accept-Language": "xx"})
    assert line.mimetype == "text/plain"
    assert line.text == "The hall is busy just now. Nothing is lost: what is on this device is kept. Try once more in 3 seconds.\n"


def test_whether_it_is_up_is_told_even_then() -> None:
    assert ask(Waiting(99), "/health").text == "in"
    assert ask(Waiting(99), "/healthy").status_code == 503
