"""A learner's device with a drill ahead of her."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from drillhall.practice import drilling, playing
from drillhall.practice.answering import store_answers
from tests.browser.drill.steps import PHONE, right
from tests.cast import LEARNER
from tests.hall import Hall


@pytest.fixture
def steady(hall: Hall) -> None:
    """Let the learner answer rightly for a week, so that *neither* is offered."""
    person = hall.people[LEARNER]
    for _ in range(4):
        with hall.store.work() as db:
            drill_id = drilling.start_drill(db, person.id, drill_id=str(uuid.uuid4()), at=hall.clock.now)
            packet = playing.the_packet(db, person.id, drill_id, now=hall.clock.now)
            asked_of = [(one, question) for view in packet.rounds for one in view.showings for question in one.questions]
            stored = store_answers(db, person.id, [right(hall, one, question) for one, question in asked_of], received_at=hall.clock.now)
        assert not stored.refused
        hall.clock.pass_by(days=2)


@pytest.fixture
def context(hall: Hall, browser: Browser) -> Iterator[BrowserContext]:
    context = hall.context(browser, LEARNER, viewport=PHONE, has_touch=True)
    yield context
    context.close()


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page that fails its test when the browser complains of anything but a lost connection."""
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    yield page
    expected = ("ERR_INTERNET_DISCONNECTED", "ERR_CONNECTION_RESET", "status of 401")
    assert [one for one in complaints if not any(sign in one for sign in expected)] == []
