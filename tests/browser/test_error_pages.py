"""What one reads when something is wrong, looked at as any other page: its kinds, to somebody signed in and to a visitor."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser
from werkzeug.test import Client
from werkzeug.wrappers import Response

from drillhall import errors
from drillhall.web.shedding import Bounds, Shed
from tests.browser.drill.steps import PHONE
from tests.browser.looking import Watch, look_at
from tests.cast import LEARNER, Someone
from tests.hall import Hall
from tests.web.test_shedding import Waiting


@pytest.mark.parametrize(
    ("who", "error", "status", "told"),
    [
        (LEARNER, ValueError("a fault of the program"), 500, "For the keeper"),
        (LEARNER, errors.Overtaken("Somebody else changed the same thing."), 409, "Somebody was quicker"),
        (None, errors.Unavailable("The database is busy or away."), 503, "Give it 5 seconds first"),
    ],
    ids=["a fault", "overtaken", "away"],
)
def test_what_went_wrong_is_told_on_a_page_that_is_whole(
    hall: Hall, browser: Browser, who: Someone | None, error: Exception, status: int, told: str
) -> None:
    def broken() -> str:
        raise error

    hall.app.view_functions["account.csrf"] = broken
    with hall.context(browser, who, viewport=PHONE, service_workers="block") as context:
        watch = Watch(context.new_page())
        assert watch.visit(f"{hall.address}/csrf", expected=status) == []
        assert told in watch.page.locator("main").inner_text()


def test_whoever_is_turned_away_from_a_busy_hall_reads_a_page_that_is_whole(browser: Browser) -> None:
    busy = Shed(Response("in"), Waiting(99), Bounds(most=9, seconds=4.0, few=2), tell=lambda: None)
    page = browser.new_page(viewport=PHONE)
    page.set_content(Client(busy).get("/groups", headers={"Accept": "text/html"}).text)
    assert page.get_by_role("heading", level=1).inner_text() == "The hall is busy just now"
    assert look_at(page) == []
    page.close()
