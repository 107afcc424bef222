"""Key pages in a language of longer words that is written from the right: nothing sticks out, and pictures stay as they are."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from sqlalchemy import update

from drillhall.store.models.people import AccountRow
from tests import cast
from tests.browser.drill.steps import LAPTOP, PHONE, answer, begin_round
from tests.browser.looking import FIT
from tests.browser.seasons_at_work import CLASS, CLUB, a_season
from tests.hall import open_hall
from tests.small_catalogue import write_small_catalogue
from tests.words.pseudo import PSEUDO, speak_it

LEARNERS = ("/", "/standing", f"/groups/{CLASS}/weak-spots/yours", f"/groups/{CLUB}", "/settings")
KEEPERS = ("/catalogues/small-estuary", f"/groups/{CLUB}/outings/1/eve-sheet", f"/groups/{CLASS}/weak-spots", f"/groups/{CLUB}/wall")
HALVES = (
    "() => [...document.querySelectorAll('[data-panel=asked]:not([hidden]) .half')].slice(0, 2).map(one => one.getBoundingClientRect().x)"
)
MARKS = """() => [...document.querySelectorAll('.picture > .marks')].filter(one => one.checkVisibility()).map(one => {
  const frame = one.parentElement.querySelector('img').getBoundingClientRect();
  return [...one.querySelectorAll('*')].map(mark => Math.round(mark.getBoundingClientRect().x - frame.x));
})"""
"""How far from the left edge of its picture each mark lies, in pixels."""
AXES = """() => [...document.querySelectorAll('svg text')].filter(one => one.checkVisibility()).flatMap(one => {
  const box = one.getBoundingClientRect(), frame = one.ownerSVGElement.getBoundingClientRect();
  return box.left < frame.left - 1 || box.right > frame.right + 1 ? [one.textContent] : [];
})"""
"""What stands on a chart and beyond its ends: a chart's numbers run from the left in every language."""
UNMARKED = r"""() => {
  const walker = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT), found = [];
  while (walker.nextNode()) {
    const node = walker.currentNode, words = node.textContent.trim();
    const isSaid = node.parentElement.closest('[lang=en], [lang=la], kbd, script, template');
    if (/[a-z]{3}/.test(words) && !isSaid && !/[⟦⟧áéíóú]/.test(words)) found.push(words);
  }
  return [...new Set(found)];
}"""


@pytest.fixture(scope="module", params=[PHONE, LAPTOP], ids=["phone", "laptop"])
def pages(
    built_hall: Path, tmp_path_factory: pytest.TempPathFactory, browser: Browser, request: pytest.FixtureRequest
) -> Iterator[tuple[Page, Page]]:
    """The learner's page and the keeper's, in a hall in which a club and a class have drilled."""
    with pytest.MonkeyPatch.context() as patch, open_hall(built_hall, tmp_path_factory.mktemp("right") / "hall") as hall:
        speak_it(patch)
        a_season(hall)
        with hall.store.work() as db:
            db.execute(update(AccountRow).values(language=PSEUDO))
        contexts = [hall.context(browser, one, viewport=request.param, service_workers="block") for one in (cast.LEARNER, cast.KEEPER)]
        yield contexts[0].new_page(), contexts[1].new_page()
        for context in contexts:
            context.close()


def test_nothing_sticks_out_or_is_cut(pages: tuple[Page, Page]) -> None:
    found = []
    for page, paths in zip(pages, (LEARNERS, KEEPERS), strict=True):
        for path in paths:
            response = page.goto(path)
            assert (response.status if response else 0) == 200, path
            assert page.locator("html").get_attribute("dir") == "rtl"
            found += [f"{path}: {fault}" for fault in [*page.evaluate(FIT), *page.evaluate(AXES)]]
    assert found == []


def test_the_first_form_is_where_one_begins_to_read_and_marks_stay_where_the_bird_shows_them(
    pages: tuple[Page, Page], tmp_path: Path
) -> None:
    authored = (write_small_catalogue(tmp_path / "small") / "catalogue.toml").read_text(encoding="utf-8")
    page = pages[0]
    page.goto("/")
    page.locator(".next .act").click()
    page.wait_for_selector("[data-playing]")
    begin_round(page)
    first, second = page.evaluate(HALVES)
    assert first > second
    assert page.evaluate(FIT) == []
    answer(page)
    page.locator("[data-panel=answered]:visible").wait_for()
    assert page.evaluate(FIT) == []
    there = page.evaluate(MARKS)
    assert any(there)
    page.evaluate("document.documentElement.dir = 'ltr'")
    assert page.evaluate(MARKS) == there
    page.evaluate("document.documentElement.dir = 'rtl'")
    # What the catalogue says is its author's, in the author's language.
    assert [words for words in page.evaluate(UNMARKED) if words not in authored] == []
