"""The wall in a browser: by key and clicker, dark, by button, and without JavaScript; readable from the far end of a room."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests import cast
from tests.browser.groups_at_work import GROUP, groups_at_work
from tests.browser.halls import a_drill_ended
from tests.hall import Hall

HIGH_DEFINITION = {"width": 1920, "height": 1080}
LEGIBLE_SHARE = 1 / 23
"""The size of type that all must read, as a share of the screen's height. On a picture 2 m wide and 1.125 m high capitals, 0.7 of the
type, are 34 mm high, from ten metres 12 minutes of arc: more than twice the 5 that an eye of usual sharpness needs (Snellen's
letters, ISO 8596; from memory)."""


@pytest.fixture
def wall(browser: Browser, hall: Hall) -> Iterator[Page]:
    a_drill_ended(hall)
    groups_at_work(hall)
    context = hall.context(browser, cast.KEEPER, viewport=HIGH_DEFINITION)
    page = context.new_page()
    page.goto(f"/groups/{GROUP}/wall")
    page.get_by_role("link", name=re.compile("fiddlers", re.I)).first.click()
    expect(page.locator("[data-wall]")).to_be_focused()
    yield page
    context.close()


def count(page: Page) -> str:
    return str(page.locator(".wall-foot .num").text_content())


def is_dark(page: Page) -> bool:
    """Whether the picture is covered: what paints in its middle is black."""
    width, height = HIGH_DEFINITION["width"], HIGH_DEFINITION["height"]
    shot = Image.open(BytesIO(page.screenshot(clip={"x": width / 2, "y": height / 3, "width": 8, "height": 8}))).convert("RGB")
    return shot.getcolors() == [(64, (0, 0, 0))]


def test_a_clicker_goes_on_and_back(wall: Page) -> None:
    told = wall.get_by_text("this one")
    expect(told).to_have_count(0)
    for key in ("PageDown", " "):
        first = count(wall)
        wall.keyboard.press(key)
        expect(told).to_have_count(1)
        wall.keyboard.press(key)
        expect(told).to_have_count(0)
        assert count(wall) != first
    wall.keyboard.press("PageUp")
    expect(told).to_have_count(1)
    wall.keyboard.press("ArrowLeft")
    expect(told).to_have_count(0)
    assert count(wall).startswith("2 of")


def test_the_wall_goes_dark_and_comes_back_where_it_was(wall: Page) -> None:
    before = count(wall)
    for back in ("b", "."):
        wall.keyboard.press("b")
        assert is_dark(wall)
        wall.keyboard.press(back)
        assert not is_dark(wall)
    wall.keyboard.press("b")
    wall.keyboard.press("PageDown")
    assert not is_dark(wall)
    expect(wall.get_by_text("this one")).to_have_count(0)
    assert count(wall) == before
    wall.get_by_role("button", name="Dark").click()
    wall.keyboard.press(" ")
    assert not is_dark(wall)
    wall.keyboard.press(" ")
    expect(wall.get_by_text("this one")).to_have_count(1)


def test_a_letter_does_nothing_once_the_focus_is_elsewhere(wall: Page) -> None:
    """WCAG 2.2, 2.1.4: a single letter counts only while what it acts on has the focus."""
    wall.evaluate("() => document.activeElement.blur()")
    wall.keyboard.press("b")
    assert not is_dark(wall)


def test_buttons_do_the_same_and_keep_the_focus(wall: Page) -> None:
    wall.get_by_role("link", name="Tell").click()
    expect(wall.get_by_text("this one")).to_have_count(1)
    wall.get_by_role("link", name="Next picture").press("Enter")
    expect(wall.get_by_role("link", name="Tell")).to_be_focused()
    wall.get_by_role("button", name="Dark").press("Enter")
    assert is_dark(wall)


def test_nothing_moves_when_the_answer_comes(wall: Page) -> None:
    boxes = [wall.locator(".wall-picture").bounding_box()]
    for _ in range(3):
        wall.keyboard.press("PageDown")
        wall.wait_for_function("at => location.search.includes(at)", arg="told" if len(boxes) % 2 else f"at={len(boxes) // 2}")
        boxes.append(wall.locator(".wall-picture").bounding_box())
    assert boxes[0] == boxes[1]
    assert boxes[2] == boxes[3]


def test_that_the_keys_work_is_seen_and_underlines_no_words(wall: Page) -> None:
    """WCAG 2.2, 2.4.7: the focus is visible; a question underlined looked like a link."""
    edge = "() => getComputedStyle(document.querySelector('.wall-foot')).borderBlockStartColor"
    wall.keyboard.press("PageDown")
    expect(wall.get_by_text("this one")).to_have_count(1)
    focused = wall.evaluate(edge)
    assert "none" in wall.evaluate("() => getComputedStyle(document.querySelector('.wall-line')).textDecorationLine")
    wall.evaluate("() => document.activeElement.blur()")
    assert wall.evaluate(edge) != focused


def test_it_is_read_from_the_far_end_and_fills_one_screen(wall: Page) -> None:
    wall.keyboard.press("PageDown")
    expect(wall.get_by_text("this one")).to_have_count(1)
    sizes = wall.evaluate(
        "() => [...document.querySelectorAll('.wall-line, .form-name, .said, .state')].map(it => parseFloat(getComputedStyle(it).fontSize))"
    )
    assert min(sizes) >= HIGH_DEFINITION["height"] * LEGIBLE_SHARE
    assert wall.evaluate("() => document.documentElement.scrollHeight <= innerHeight")
    picture = wall.locator(".wall-picture").bounding_box()
    assert picture is not None
    assert picture["height"] > HIGH_DEFINITION["height"] / 2, "the picture is the largest thing"
    expect(wall.locator("[data-credit]")).to_contain_text(re.compile("CC|permission|drawn", re.I))


def test_without_javascript_it_goes_page_by_page(browser: Browser, hall: Hall) -> None:
    groups_at = f"/groups/{GROUP}/wall/1"
    a_drill_ended(hall)
    groups_at_work(hall)
    context = hall.context(browser, cast.KEEPER, java_script_enabled=False)
    page = context.new_page()
    page.goto(groups_at)
    page.get_by_role("link", name="Tell").click()
    expect(page.get_by_text("this one")).to_have_count(1)
    page.get_by_role("link", name="Next picture").click()
    expect(page.get_by_text("this one")).to_have_count(0)
    expect(page.get_by_role("button", name="Dark")).to_have_count(0)
    context.close()
