"""Where things stand in the drill: nothing moves under the finger, and everything to tap is large enough."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.drill.steps import LAPTOP, PHONE, answer, asked, begin_round, go_on, places, prefer, small_targets, start, told
from tests.browser.looking import look_at
from tests.cast import LEARNER
from tests.hall import Hall


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_nothing_moves_between_question_and_explanation(hall: Hall, steady: None, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        start(page)
        for number in (0, 3, 1, 0, 2):
            if number == 1:  # from here on in the longer words of another language
                prefer(hall, language="de")
                page.goto("/drill")
                page.wait_for_selector("html[lang=de] [data-playing]", state="attached")
            begin_round(page)
            before = places(page)
            answer(page, number)
            after = places(page)
            assert len(before) >= 4
            for name, place in before.items():
                assert after[name] == pytest.approx(place, abs=0.5), name
            go_on(page)


def test_nothing_moves_and_all_is_large_enough_when_a_trait_is_explained(page: Page) -> None:
    start(page)
    begin_round(page)
    assert asked(page).locator(".rung-tall, .rung-state").count()
    before = places(page)
    small = small_targets(page)
    answer(page)
    after = places(page)
    for name, place in before.items():
        assert after[name] == pytest.approx(place, abs=0.5), name
    assert [*small, *small_targets(page)] == []


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_everything_to_tap_is_large_enough(hall: Hall, steady: None, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        start(page)
        begin_round(page)
        page.locator(".neither summary").click()
        assert small_targets(page) == []
        answer(page)
        assert small_targets(page) == []


def test_no_answer_lies_where_the_button_that_goes_on_will_be(steady: None, page: Page) -> None:
    start(page)
    begin_round(page)
    page.locator(".neither summary").click()
    boxes = [button.bounding_box() for button in asked(page).locator("button[name=answer]").all()]
    strip = page.locator(".strip").bounding_box()
    answer(page, 7)
    goes_on = told(page).locator("[data-next]").bounding_box()
    assert strip
    assert goes_on
    for box in boxes:
        assert box
        # What lies under the strip cannot be tapped there.
        assert min(box["y"] + box["height"], strip["y"]) <= goes_on["y"] + 0.5


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_what_the_player_puts_up_has_no_fault(hall: Hall, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        start(page)
        faults = look_at(page)
        begin_round(page)
        for _ in range(2):
            faults += look_at(page)
            answer(page)
            faults += look_at(page)
            go_on(page)
            begin_round(page)
        assert faults == []


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_nothing_moves_in_a_rarity_drill_once_an_answer_is_told(hall: Hall, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        page.goto("/pairs/1/rarity")
        with page.expect_navigation():  # until it has loaded, a button may be measured before it has its looks
            page.locator("form.stack button.act").click()
        buttons = page.locator("button[name=answer]")
        before = [button.bounding_box() for button in buttons.all()]
        with page.expect_navigation():
            buttons.first.click()
        page.locator("[role=status]", has_text=re.compile("Right|Missed")).wait_for()
        assert len(before) == 2
        assert [button.bounding_box() for button in buttons.all()] == before
