"""The picture of a drill, enlarged and dimmed."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.browser.drill.steps import PHONE, answer, begin_round, go_on, start
from tests.cast import LEARNER
from tests.hall import Hall


def test_the_picture_is_enlarged_by_wheel_key_button_and_two_fingers(context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    picture = page.locator("[data-picture]")
    zoom = "box => Number(getComputedStyle(box).getPropertyValue('--zoom'))"
    picture.focus()
    page.keyboard.press("+")
    assert picture.evaluate(zoom) == pytest.approx(1.5)
    page.keyboard.press("0")
    assert picture.evaluate(zoom) == 1
    page.get_by_role("button", name="Enlarge").click()
    assert picture.evaluate(zoom) == pytest.approx(2.5)
    page.get_by_role("button", name="Whole").click()
    assert picture.evaluate(zoom) == 1
    picture.hover()
    page.mouse.wheel(0, -300)
    page.wait_for_function("Number(getComputedStyle(document.querySelector('[data-picture]')).getPropertyValue('--zoom')) > 2")
    picture.focus()
    page.keyboard.press("Escape")
    assert picture.evaluate(zoom) == 1
    touch = context.new_cdp_session(page)
    for kind, gap in (("touchStart", 20), ("touchMove", 40), ("touchMove", 60)):
        points = [{"x": 180 - gap, "y": 150, "id": 0}, {"x": 180 + gap, "y": 150, "id": 1}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert picture.evaluate(zoom) == pytest.approx(3, abs=0.2)
    answer(page)
    assert picture.evaluate(zoom) == pytest.approx(3, abs=0.2), "the explanation must not undo what she looks at"


def test_a_dimmed_picture_stays_dim_from_question_to_question(hall: Hall, browser: Browser) -> None:
    with hall.context(browser, LEARNER, viewport=PHONE, color_scheme="dark") as context:
        page = context.new_page()
        start(page)
        begin_round(page)
        bright = "image => getComputedStyle(image).filter"
        assert page.locator("#shown").evaluate(bright) == "none"
        page.get_by_label("Dim picture").check()
        assert page.locator("#shown").evaluate(bright) == "brightness(0.55)"
        answer(page)
        assert page.locator("#shown").evaluate(bright) == "brightness(0.55)"
        go_on(page)
        begin_round(page)
        assert page.get_by_label("Dim picture").is_checked()
