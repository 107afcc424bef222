"""A frame and a mark are drawn with the mouse, a finger or the keys alone, and a view from afar follows its slider."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from tests.browser.sent_pictures import pictures_sent, public_id_of
from tests.cast import LEARNER
from tests.hall import Hall

HERS = f"/my-pictures/{public_id_of(1)}"
NAMES = ("left", "top", "width", "height")


@pytest.fixture
def context(hall: Hall, browser: Browser) -> Iterator[BrowserContext]:
    """The learner's phone, in a hall to which she has sent pictures."""
    pictures_sent(hall)
    with hall.context(browser, LEARNER, viewport={"width": 360, "height": 740}, has_touch=True) as context:
        yield context


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


def sides(page: Page) -> list[float]:
    return [float(page.locator(f"#{name}").input_value()) for name in NAMES]


def box(page: Page) -> Locator:
    return page.locator(".stage > .box")


def test_a_frame_is_drawn_by_keys_alone(page: Page) -> None:
    page.goto(f"{HERS}/frame")
    for _ in range(40):
        page.keyboard.press("Tab")
        if box(page).evaluate("box => box === document.activeElement"):
            break
    before = sides(page)
    for key in ("ArrowRight", "ArrowRight", "ArrowDown", "Shift+ArrowLeft", "Shift+ArrowUp", "Shift+ArrowUp"):
        page.keyboard.press(key)
    assert sides(page) == [before[0] + 2, before[1] + 1, before[2] - 1, before[3] - 2]
    expect(page.locator("[data-told]")).to_have_text("12 percent from the left, 11 from the top, 79 wide, 78 high.")
    while not page.get_by_role("button", name="Keep this frame").evaluate("one => one === document.activeElement"):
        page.keyboard.press("Tab")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("Kept.")
    assert sides(page) == [12, 11, 79, 78]


def test_a_frame_is_moved_sized_and_drawn_anew_by_mouse(page: Page) -> None:
    page.goto(f"{HERS}/frame")
    stage = page.locator("[data-stage]").bounding_box()
    assert stage

    def drag(*way: tuple[float, float]) -> None:
        (x, y), *rest = ((stage["x"] + across * stage["width"], stage["y"] + down * stage["height"]) for across, down in way)
        page.mouse.move(x, y)
        page.mouse.down()
        for x, y in rest:
            page.mouse.move(x, y, steps=4)
        page.mouse.up()

    drag((0.5, 0.5), (0.55, 0.55))
    assert sides(page) == pytest.approx([15, 15, 80, 80], abs=0.6)
    drag((0.95, 0.95), (0.75, 0.65))
    assert sides(page) == pytest.approx([15, 15, 60, 50], abs=3)
    drag((0.9, 0.9), (0.4, 0.8))
    assert sides(page) == pytest.approx([40, 80, 50, 10], abs=0.6)
    drag((0.5, 0.85), (5.0, 5.0))  # it never leaves the picture
    assert sides(page)[0] + sides(page)[2] <= 100
    assert sides(page)[1] + sides(page)[3] <= 100


def test_a_corner_is_dragged_by_finger(context: BrowserContext, page: Page) -> None:
    page.goto(f"{HERS}/frame")
    corner = page.locator(".stage > .corner-end").bounding_box()
    assert corner
    assert min(corner["width"], corner["height"]) >= 44
    x, y = corner["x"] + corner["width"] / 2, corner["y"] + corner["height"] / 2
    touch = context.new_cdp_session(page)
    for kind, by in (("touchStart", 0), ("touchMove", 30), ("touchMove", 60)):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x - by, "y": y - by, "id": 0}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert sides(page)[2] < 70
    assert sides(page)[3] < 70


def test_typing_moves_the_box_and_nonsense_does_not(page: Page) -> None:
    page.goto(f"{HERS}/marks")
    left = "box => getComputedStyle(box).getPropertyValue('--x')"
    assert box(page).evaluate(left) == "37.5"
    for typed, then in (("5,5", "5.5"), ("much", "5.5"), ("70", "70"), ("95", "75")):
        page.fill("#left", typed)
        page.keyboard.press("Tab")
        assert box(page).evaluate(left) == then
    assert page.locator("#left").input_value() == "95", "what is typed is left for the hall to judge"


def test_a_mark_is_drawn_and_then_lies_on_the_picture(page: Page) -> None:
    page.goto(f"{HERS}/marks")
    box(page).focus()
    page.keyboard.press("ArrowLeft")
    page.get_by_label("What it shows").select_option(index=1)
    with page.expect_navigation():
        page.get_by_role("button", name="Keep this mark").click()
    expect(page.locator(".stage > .marks .ring")).to_have_count(1)
    expect(page.get_by_text("36 % from the left")).to_be_visible()


def test_a_view_from_afar_follows_its_slider(page: Page) -> None:
    page.goto(f"{HERS}/far-off?distance=100&magnification=8&visibility=&length=200")
    expect(page.locator("ul[data-told]")).to_contain_text("narrower than 4 mm")
    slider = page.get_by_role("slider", name="Distance")
    slider.focus()
    with page.expect_response(lambda response: "preview" in response.url):
        page.keyboard.press("End")
    expect(page.locator("ul[data-told]")).to_contain_text("narrower than 36 mm")
    assert page.locator("#distance").input_value() == "1000"
    assert page.locator("[data-preview]").evaluate("image => image.decode().then(() => image.naturalWidth)") == 480
