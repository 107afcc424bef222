"""The whole job of each of the three by keyboard alone: a beginner's drill, a leader's evening, a teacher's test (WCAG 2.2, 2.1, 2.4)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from tests import cast
from tests.browser.drill.steps import ASLEEP_MS, prefer
from tests.browser.field_tests_at_work import hold_more_out
from tests.browser.keyboard import Keys
from tests.browser.seasons_at_work import a_season
from tests.hall import Hall, open_hall

LAPTOP: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}, "reduced_motion": "reduce", "service_workers": "block"}
"""Where motion is not wanted the page does not glide to what is focused: so it is looked at where it will be."""


@pytest.fixture(scope="module")
def at_work(built_hall: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hall]:
    """A hall with a club and a class that have drilled, and pictures held out for a test."""
    with open_hall(built_hall, tmp_path_factory.mktemp("keyboard") / "hall") as hall:
        a_season(hall)
        with hall.store.work() as db:
            hold_more_out(db, 2)
        prefer(hall, minutes_a_day=1)
        yield hall


def drill_to_the_end(keys: Keys) -> None:
    """Meet what is new, answer the first by Tab and Enter, the others by letters, and go on from where the focus was put."""
    page = keys.page
    for turn in range(60):
        page.locator("[data-begin]:visible, [data-panel=asked]:visible").first.wait_for()
        if page.locator("[data-begin]").is_visible():
            keys.to("Try a round")
            keys.press("Enter")
            page.locator("[data-panel=asked]:visible").wait_for()
        if turn == 0:
            keys.to("Hint: where to look")  # the last of the panel: all of its answers were on the way
            page.keyboard.press("Shift+Tab")
            while page.evaluate("document.activeElement.name") != "answer":
                page.keyboard.press("Shift+Tab")
            keys.press("Enter")
        else:
            page.locator("[data-panel=asked]").focus()
            keys.press("KeyS")
        expect(page.locator("[data-next]:visible")).to_be_focused()
        last = page.locator("[data-next]").inner_text() == "How it went"
        page.wait_for_timeout(ASLEEP_MS)
        keys.press("Enter")
        if last:
            page.wait_for_url("**/drill/end*")
            return
    raise AssertionError("the drill has no end")


def test_a_beginner_signs_in_drills_and_ends(at_work: Hall, browser: Browser) -> None:
    page = at_work.context(browser, **LAPTOP).new_page()
    keys = Keys(page)
    page.goto("/sign-in")
    keys.to("Name", tag="input")
    page.keyboard.type(cast.LEARNER.name)
    keys.to("Passphrase", tag="input")
    page.keyboard.type(cast.LEARNER.passphrase)
    with page.expect_navigation():
        keys.press("Enter")
    keys.to("Skip to the page")
    keys.press("Enter")
    keys.step()
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")
    page.reload()
    keys.follow("Start today's drill")
    page.wait_for_selector("[data-playing]")
    drill_to_the_end(keys)
    keys.follow("To Today")
    assert keys.everywhere() > 4
    assert "\n".join(keys.faults) == ""
    page.context.close()


def test_a_leader_gives_a_set_and_opens_the_eve_sheet(at_work: Hall, browser: Browser) -> None:
    page = at_work.context(browser, cast.KEEPER, **LAPTOP).new_page()
    keys = Keys(page)
    page.goto("/")
    keys.follow("Groups")
    keys.follow("Watchers of the long sluice")
    keys.follow("Give it a pair set")
    keys.to("End it", tag="summary")
    keys.press("Enter")
    keys.follow("End ", tag="button")
    keys.to("Pair set", tag="select")
    keys.press("ArrowDown")
    keys.follow("Give it to the group")
    page.goto("/groups")
    keys.follow("Watchers of the long sluice")
    keys.follow("Outings")
    keys.follow("Eve sheet")
    assert page.url.endswith("/eve-sheet")
    assert keys.everywhere() >= 1
    assert "\n".join(keys.faults) == ""
    page.context.close()


def test_a_teacher_reads_weak_spots_and_sets_a_test(at_work: Hall, browser: Browser) -> None:
    page = at_work.context(browser, cast.KEEPER, **LAPTOP).new_page()
    keys = Keys(page)
    page.goto("/groups")
    keys.follow("Form Six")
    keys.follow("Weak spots")
    assert keys.everywhere() > 8
    page.go_back()
    keys.follow("Field tests")
    keys.follow("iddlers", tag="a")
    keys.to("Title", tag="input")
    page.keyboard.type("By keys alone")
    keys.to("The clock may be stopped", tag="input")
    keys.press("Space")
    assert page.get_by_label("The clock may be stopped").is_checked()
    keys.follow("Set the test")
    expect(page.get_by_role("heading", level=1)).to_have_text("By keys alone")
    assert "\n".join(keys.faults) == ""
    page.context.close()
