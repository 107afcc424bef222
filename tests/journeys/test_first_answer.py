"""A newcomer's first minutes: from the printed link to a first explained answer in a handful of taps, nothing typed."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from playwright.sync_api import Browser

from drillhall.people import links
from tests import cast
from tests.hall import open_hall

PHONE = {"width": 360, "height": 740}


def test_the_first_explained_answer_is_six_taps_from_the_printed_link(built_hall: Path, tmp_path: Path, browser: Browser) -> None:
    with open_hall(built_hall, tmp_path / "hall", demo=True) as hall:
        with hall.store.work() as db:
            stranger = hall.people[cast.STRANGER].id
            token = links.make_link(db, links.STEP_IN, account_id=stranger, until=hall.clock.now + timedelta(hours=1))
        context = hall.context(browser, viewport=PHONE)
        page = context.new_page()
        page.goto(f"/step-in/{token}")
        for tap in ("Step in", "See the shelf", "Take this set", "Start today's drill", "Try a round"):
            page.locator(".act:visible", has_text=tap).first.click()
        page.locator("[data-panel=asked] .rung >> visible=true").first.click()
        told = page.locator("[data-panel=answered]")
        told.wait_for()
        words = told.inner_text()
        assert words.startswith(("Right", "Missed"))
        assert "Bill" in words, "the trait that was asked or that decides is named"
        context.close()
