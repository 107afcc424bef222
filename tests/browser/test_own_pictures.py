"""Sending and describing one's own pictures in a real browser: progress, a broken file, a broken line, and the keyboard alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route
from sqlalchemy import select

from drillhall.people import groups
from drillhall.store.models.pictures import PictureRow
from tests.browser.sent_pictures import a_photograph, pictures_sent
from tests.cast import LEARNER
from tests.hall import Hall

PHONE = {"width": 360, "height": 740}


@pytest.fixture
def page(hall: Hall, browser: Browser) -> Iterator[Page]:
    context = hall.context(browser, LEARNER, viewport=PHONE)
    page = context.new_page()
    failed: list[str] = []
    page.on("pageerror", lambda error: failed.append(str(error)))
    yield page
    context.close()
    assert failed == []


def files(*numbers: int, broken: int = -1) -> list[Any]:
    """Return files to choose, one of them cut off half-way."""
    sources = {number: a_photograph(number) for number in numbers}
    return [
        {"name": f"IMG_{number}.jpg", "mimeType": "image/jpeg", "buffer": source[:400] if number == broken else source}
        for number, source in sources.items()
    ]


def rows(hall: Hall) -> list[PictureRow]:
    with hall.store.look() as db:
        query = select(PictureRow).where(PictureRow.owner_id == hall.people[LEARNER].id).order_by(PictureRow.id)
        return list(db.scalars(query))


def states(page: Page) -> list[str]:
    return [str(line.get_attribute("data-state")) for line in page.locator("[data-files] > li").all()]


def wait_until(page: Page, *wanted: str) -> None:
    page.wait_for_function(
        "wanted => [...document.querySelectorAll('[data-files] > li')].map(line => line.dataset.state).join() === wanted",
        arg=",".join(wanted),
    )


def test_one_broken_file_among_three_stops_no_other(hall: Hall, page: Page) -> None:
    page.goto("/my-pictures")
    page.set_input_files("#file", files(1, 2, 3, broken=2))
    assert states(page) == ["waiting"] * 3
    assert "Tick above that nothing was disturbed" in page.locator("[data-told]").inner_text()
    assert rows(hall) == []
    page.get_by_label("They were taken without disturbing anything").check()
    wait_until(page, "kept", "refused", "kept")
    assert "The file is damaged" in page.locator("[data-state=refused]").inner_text()
    assert page.locator("[data-told]").inner_text() == "2 of 3 pictures are here. 1 cannot be taken: see why below."
    assert len(rows(hall)) == 2
    assert page.locator("[data-none]").is_hidden(), "it does not say any more that there is none"
    page.get_by_role("link", name="Say what they show").last.click()
    page.wait_for_url("**/my-pictures/describe")
    assert page.locator("input[name=picture]").count() == 2


def test_progress_is_shown_and_at_most_two_go_at_once(hall: Hall, page: Page) -> None:
    held: list[Route] = []
    page.route("**/my-pictures/send", lambda route: held.append(route))
    page.goto("/my-pictures")
    page.get_by_label("They were taken without disturbing anything").check()
    page.set_input_files("#file", files(1, 2, 3, 4))
    wait_until(page, "sending", "sending", "waiting", "waiting")
    assert page.locator("progress:visible").count() == 4
    for turn in range(4):
        for _ in range(100):
            if len(held) == min(2, 4 - turn):
                break
            page.wait_for_timeout(50)
        page.wait_for_timeout(150)
        assert len(held) == min(2, 4 - turn)
        held.pop(0).continue_()
    wait_until(page, "kept", "kept", "kept", "kept")
    assert page.locator("progress:visible").count() == 0
    assert len(rows(hall)) == 4


def test_after_a_broken_line_only_what_lacks_is_sent_again(hall: Hall, page: Page) -> None:
    broken = True
    sent: list[str] = []

    def line(route: Route) -> None:
        sent.append(route.request.method)
        if not broken:
            route.continue_()
        elif len(sent) == 2:
            route.fetch()  # it arrives, and the answer is lost on its way back
            route.abort("connectionreset")
        elif len(sent) > 2:
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route("**/my-pictures/send", line)
    page.goto("/my-pictures")
    page.get_by_label("They were taken without disturbing anything").check()
    page.set_input_files("#file", files(1, 2, 3, 4))
    page.wait_for_selector("[data-again]:visible")
    assert sorted(states(page)) == ["kept", "lost", "lost", "lost"]
    assert "3 did not arrive." in page.locator("[data-told]").inner_text()
    assert len(rows(hall)) == 2
    broken = False
    sent.clear()
    page.get_by_role("button", name="Send the rest again").click()
    page.wait_for_selector("[data-describe]:visible")
    assert sorted(states(page)) == ["already", "kept", "kept", "kept"]
    assert len(sent) == 2, "the one that had arrived after all went over the line once"
    assert len(rows(hall)) == 4


def test_the_same_picture_twice_is_already_there(hall: Hall, page: Page) -> None:
    page.goto("/my-pictures")
    page.get_by_label("They were taken without disturbing anything").check()
    page.set_input_files("#file", files(1))
    wait_until(page, "kept")
    page.set_input_files("#file", files(1))
    wait_until(page, "kept", "already")
    assert len(rows(hall)) == 1


def test_pictures_are_dropped_on_the_form(hall: Hall, page: Page) -> None:
    page.goto("/my-pictures")
    page.get_by_label("They were taken without disturbing anything").check()
    bytes_ = list(a_photograph(7))
    page.evaluate(
        """bytes => {
          const moved = new DataTransfer();
          moved.items.add(new File([new Uint8Array(bytes)], 'IMG_7.jpg', {type: 'image/jpeg'}));
          const form = document.querySelector('[data-sending]');
          for (const kind of ['dragover', 'drop'])
            form.dispatchEvent(new DragEvent(kind, {dataTransfer: moved, bubbles: true, cancelable: true}));
        }""",
        bytes_,
    )
    wait_until(page, "kept")
    assert len(rows(hall)) == 1


def test_a_file_that_is_too_large_is_not_sent_at_all(page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto("/my-pictures")
    page.get_by_label("They were taken without disturbing anything").check()
    page.evaluate(
        """() => {
          const moved = new DataTransfer();
          moved.items.add(new File([new Uint8Array(25_000_001)], 'large.jpg', {type: 'image/jpeg'}));
          document.querySelector('[data-sending]').dispatchEvent(new DragEvent('drop', {dataTransfer: moved, cancelable: true}));
        }"""
    )
    wait_until(page, "refused")
    assert "larger than 25 MB" in page.locator("[data-state=refused]").inner_text()
    assert not [url for url in asked if url.endswith("/send")]


def test_the_grid_is_used_by_the_keyboard_alone(hall: Hall, page: Page) -> None:
    pictures_sent(hall)
    page.goto("/my-pictures/describe")
    boxes = page.locator("input[name=picture]")
    count = page.locator("[data-count]")
    boxes.first.focus()
    page.keyboard.press("Space")
    assert count.inner_text() == "1 of 5 chosen"
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert [box.is_checked() for box in boxes.all()] == [True, True, True, False, False]
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    assert page.evaluate("() => document.activeElement.name") == "picture"
    assert count.inner_text() == "3 of 5 chosen"
    page.locator("#form").focus()
    page.keyboard.type("Stilt")
    page.get_by_role("button", name="Say it of those chosen").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/my-pictures/describe?described=3")
    with hall.store.look() as db:
        waiting = db.scalars(select(PictureRow).where(PictureRow.described_at.is_(None))).all()
    assert len(waiting) == 2


def test_whoever_types_rights_says_them_and_may_take_that_back(hall: Hall, page: Page) -> None:
    pictures_sent(hall)
    page.goto("/my-pictures/describe")
    page.get_by_text("Their rights", exact=True).click()
    tick = page.locator("input[name=with_rights]")
    assert not tick.is_checked()
    page.get_by_label("Who made it").fill("Oda")
    assert tick.is_checked()
    page.get_by_label("Or say of each of those chosen what its own file says").check()
    assert not tick.is_checked()


def test_all_and_none_and_shift_with_a_click(hall: Hall, page: Page) -> None:
    pictures_sent(hall)
    page.goto("/my-pictures/describe")
    boxes, count = page.locator("input[name=picture]"), page.locator("[data-count]")
    page.get_by_role("button", name="All").click()
    assert count.inner_text() == "5 of 5 chosen"
    page.get_by_role("button", name="None").click()
    assert count.inner_text() == "0 of 5 chosen"
    boxes.nth(1).click()
    boxes.nth(3).click(modifiers=["Shift"])
    assert [box.is_checked() for box in boxes.all()] == [False, True, True, True, False]


def test_all_that_can_be_shared_are_chosen_at_once(hall: Hall, page: Page) -> None:
    pictures_sent(hall)
    with hall.store.work() as db:
        groups.make_group(db, by=hall.people[LEARNER], title="Sluice", kind="club", is_paid=False, public_id="a-group", at=hall.clock.now)
    page.goto("/my-pictures")
    boxes = page.locator("input[name=picture]")
    page.get_by_role("button", name="All", exact=True).click()
    assert boxes.count() == page.locator("input[name=picture]:checked").count() > 0
    assert page.get_by_text(f"{boxes.count()} of {boxes.count()} chosen").is_visible()
    page.get_by_role("button", name="None", exact=True).click()
    assert page.locator("input[name=picture]:checked").count() == 0
