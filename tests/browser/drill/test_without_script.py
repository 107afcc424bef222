"""The drill without JavaScript, and over plain http, says the same as with it."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, Page, expect

from tests.browser.drill.steps import PHONE, answer, answers, begin_round, go_on, here, start, told, wait_for_answers, words
from tests.cast import LEARNER
from tests.hall import Hall


def test_without_javascript_the_drill_goes_answer_by_answer(hall: Hall, browser: Browser) -> None:
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto("/")
        page.get_by_role("button", name=re.compile("Start today's drill")).click()
        page.get_by_role("link", name=re.compile("Try a round")).click()
        page.get_by_role("link", name="Hint: where to look").click()
        expect(page.locator("[data-picture] .ring")).to_be_visible()
        page.locator("button[name=answer]").first.click()
        expect(told(page).locator("h1")).to_have_text(re.compile("^(Right|Missed)"))
        page.get_by_role("button", name="Next").click()
        page.locator("button[name=answer]").first.click()
        expect(told(page).locator("h1")).to_have_text(re.compile("^(Right|Missed)"))
        first, second = sorted(answers(hall), key=lambda row: row.ask)
        assert first.hint
        assert not second.hint
        assert (first.ask, second.ask) == (0, 1)


def test_over_plain_http_the_drill_goes_page_by_page_and_says_why(hall: Hall, page: Page) -> None:
    # A browser calls this machine's own addresses secure, so the page is told otherwise.
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', {value: false})")
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.locator("[data-begin]").click()
    expect(page.locator("[data-plain]")).to_contain_text("needs https")
    answer(page)
    assert "showing=" in page.url
    assert len(answers(hall)) == 1
    assert page.locator("[data-playing]").count() == 0


def test_page_and_player_explain_in_the_same_words(hall: Hall, browser: Browser, page: Page) -> None:
    start(page)
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=False) as without:
        plain = without.new_page()
        for turn in range(4):
            begin_round(page)
            answer(page, turn % 2)
            wait_for_answers(hall, page, turn + 1)
            showing, ask = here(page)
            plain.goto(f"/drill?showing={showing}&ask={ask}")
            assert words(plain.locator(".panel")) == words(told(page))
            assert plain.locator("#shown").get_attribute("alt") == page.locator("#shown").get_attribute("alt")
            assert plain.locator("[data-picture] .marks").inner_html() == page.locator("[data-picture] .marks").inner_html()
            go_on(page)
