"""Key pages in a person's own colours, with more contrast, and without motion: nothing is lost, and everything large enough to tap."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests import cast
from tests.browser.drill.steps import PHONE, answer, begin_round, small_targets
from tests.browser.looking import faults_of
from tests.browser.seasons_at_work import CLASS, a_season
from tests.hall import open_hall

BARS = """() => [...document.querySelectorAll('.side')].map(one => {
  const its = getComputedStyle(one), bar = its.borderBlockStartStyle;
  return [/side-true/.test(one.className) ? 'true' : /side-mistaken/.test(one.className) ? 'mistaken' : '',
          parseFloat(its.borderBlockStartWidth) > 0 ? bar : 'none'];
})"""


@pytest.fixture(scope="module")
def pages(built_hall: Path, tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Page]:
    """A phone in the hands of a learner, of a club and a class that have drilled."""
    with open_hall(built_hall, tmp_path_factory.mktemp("seen") / "hall") as hall:
        a_season(hall)
        context = hall.context(browser, cast.LEARNER, viewport=PHONE, service_workers="block")
        yield context.new_page()
        context.close()


def drill(page: Page) -> None:
    """Begin today's drill, or go on with it, and look at a question."""
    page.goto("/")
    page.locator(".next .act").click()
    page.wait_for_selector("[data-playing]")
    begin_round(page)


def visit_all(page: Page, rule: str, **media: Any) -> list[str]:
    """Look by one rule at the key pages as they are under some media, and return what is wrong."""
    page.emulate_media(**media)
    found = []
    for path in ("/", "/standing", f"/groups/{CLASS}/weak-spots/yours", "/settings", "/words"):
        page.goto(path)
        found += [f"{path}: {fault}" for fault in faults_of(page, rule)]
    drill(page)
    found += [f"asked: {fault}" for fault in faults_of(page, rule)]
    answer(page)
    return found + [f"answered: {fault}" for fault in faults_of(page, rule)]


def test_with_more_contrast_every_word_has_seven_to_one(pages: Page) -> None:
    """WCAG 2.2, 1.4.6, the ratio of level AAA, for whoever has asked the device for more."""
    for scheme in ("light", "dark"):
        assert visit_all(pages, "color-contrast-enhanced", contrast="more", color_scheme=scheme) == []


def test_in_a_persons_own_colours_what_was_right_is_still_told(pages: Page) -> None:
    assert visit_all(pages, "color-contrast", forced_colors="active") == []
    assert pages.evaluate("matchMedia('(forced-colors: active)').matches")
    told = dict(pages.evaluate(BARS))
    assert told["true"] == "solid"
    assert told.get("mistaken", "dashed") == "dashed"
    edges = pages.locator("[data-next]").evaluate("one => getComputedStyle(one).borderTopStyle")
    assert edges == "solid"


def test_where_motion_is_not_wanted_nothing_moves(pages: Page) -> None:
    moves = "() => [getComputedStyle(document.documentElement).scrollBehavior, document.getAnimations().length]"
    drill(pages)
    answer(pages)
    assert pages.evaluate(moves) == ["smooth", 0]
    pages.emulate_media(reduced_motion="reduce")
    assert pages.evaluate(moves) == ["auto", 0]


def test_a_bird_told_in_words_is_answered_by_targets_large_enough(pages: Page) -> None:
    pages.goto("/words")
    pages.get_by_role("button", name="Start a drill in words").click()
    found = small_targets(pages)
    pages.get_by_role("link", name="Begin with these two").click()
    found += small_targets(pages)
    pages.locator("button[name=answer]").first.click()
    assert [*found, *small_targets(pages)] == []


def test_on_paper_there_is_nothing_to_tap_and_every_chart_has_its_table(pages: Page) -> None:
    pages.emulate_media(media="print", forced_colors="none", contrast="no-preference", color_scheme="dark")
    tables = []
    for path in ("/", "/standing", f"/groups/{CLASS}/weak-spots/yours"):
        pages.goto(path)
        assert pages.locator(":is(nav, .top, .foot, main button, main .act, main .plain, main .quiet):visible").count() == 0, path
        assert pages.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)", path
        tables += pages.evaluate("[...document.querySelectorAll('.numbers table')].map(one => one.checkVisibility())")
    assert tables
    assert all(tables)
    pages.emulate_media(media="screen")
