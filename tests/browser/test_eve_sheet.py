"""The eve sheet on paper: printed to PDF by a real browser it takes two pages of A4 at most, and names what the answers say."""

from __future__ import annotations

import re
from io import BytesIO

from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from drillhall.practice.eve_sheet import MOST_PAIRS
from tests import cast
from tests.browser.seasons_at_work import CLUB, a_season
from tests.hall import Hall

A4_POINTS = (595, 842)
"""ISO 216: 210 mm by 297 mm, in points of 1/72 inch, rounded."""


FILTERS = """() => [...document.querySelectorAll('.sheet-picture')].map(
  one => [one.className, getComputedStyle(one.querySelector('img')).filter])"""
SIX = """() => {
  const one = document.querySelector('.sheet-pair'), long = 'as wordy as what a club writes';
  one.querySelectorAll('ul').forEach(list => list.append(list.children[0].cloneNode(true), list.children[0].cloneNode(true)));
  one.querySelectorAll('li').forEach(item => { item.textContent = 'Length of the bill about as long as the head'; });
  one.querySelectorAll('.sheet-form .form-name').forEach(name => name.append(', non-breeding adult'));
  const misleads = document.createElement('p');
  misleads.textContent =
    `Misleads beyond these two: Length of the bill, ${long}. Sanderling, non-breeding and Dunlin, juvenile have it too.`;
  one.append(misleads);
  for (let more = 1; more < 6; more += 1) one.after(one.cloneNode(true));
}"""
"""As many pairs as a sheet holds, each with three traits, a trait that misleads, and names that take two lines."""


def printed(page: Page) -> tuple[int, set[tuple[int, int]]]:
    """Print a page as its own style sheet says, and return how many sheets that takes and their sizes."""
    pdf = page.pdf(prefer_css_page_size=True, print_background=False)
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    return len(re.findall(rb"/Type\s*/Page\b", pdf)), {(round(float(width)), round(float(height))) for width, height in boxes}


def test_the_sheet_fits_two_pages_of_a4_and_names_what_the_answers_say(hall: Hall, browser: Browser) -> None:
    a_season(hall)
    page = hall.context(browser, cast.KEEPER).new_page()
    page.goto(f"/groups/{CLUB}/outings/1/eve-sheet")
    page.emulate_media(media="print")
    sheets, sizes = printed(page)
    assert sheets in (1, 2)
    assert sizes == {A4_POINTS}
    names = page.locator(".sheet-pair .pair-name").all_inner_texts()
    assert [" ".join(name.split()) for name in names] == ["Marsh Fiddler and Stilt Fiddler"]
    words = page.locator("main").inner_text()
    for said in (
        "Spring tide at the sluice",
        "by the weighbridge",
        "We mix them up:",
        "tell someone where you go",
        "local code of conduct",
    ):
        assert said in words, said
    assert not page.locator(".screen-only, .top").first.is_visible()


def test_the_season_fits_two_pages_of_a4_and_says_its_weeks(hall: Hall, browser: Browser) -> None:
    a_season(hall)
    page = hall.context(browser, cast.LEARNER).new_page()
    page.goto(f"/groups/{CLUB}/season/print?year={hall.clock.now.year}")
    page.emulate_media(media="print")
    pdf = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True, print_background=False)))
    sizes = {(round(float(sheet.mediabox.width)), round(float(sheet.mediabox.height))) for sheet in pdf.pages}
    assert (len(pdf.pages) in (1, 2), sizes) == (True, {A4_POINTS})
    words = " ".join(" ".join(sheet.extract_text() for sheet in pdf.pages).split())
    assert "Back to the season" not in words
    for said in ("Watchers of the long sluice", f"Season {hall.clock.now.year}", "Spring tide at the sluice"):
        assert said in words, said


def test_what_a_licence_forbids_to_alter_is_not_printed_in_grey(hall: Hall, browser: Browser) -> None:
    a_season(hall)
    page = hall.context(browser, cast.KEEPER).new_page()
    page.goto(f"/groups/{CLUB}/outings/1/eve-sheet")
    page.emulate_media(media="print")
    filters = page.evaluate(FILTERS)
    assert filters
    assert all(("sheet-grey" in name) == (said != "none") for name, said in filters)


def test_the_most_pairs_that_a_sheet_holds_fit_two_pages(hall: Hall, browser: Browser) -> None:
    a_season(hall)
    page = hall.context(browser, cast.KEEPER).new_page()
    page.goto(f"/groups/{CLUB}/outings/1/eve-sheet")
    page.evaluate(SIX)
    assert page.locator(".sheet-pair").count() == MOST_PAIRS
    assert printed(page)[0] == 2
