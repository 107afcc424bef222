"""A field test in a real browser, from setting to item analysis: by keyboard, on a phone without scripts, and after a lost connection."""

from __future__ import annotations

from playwright.sync_api import Browser, Page, expect

from drillhall.people import groups
from tests import cast
from tests.browser.field_tests_at_work import CLASS, hold_more_out
from tests.hall import Hall


def pupil_page(hall: Hall, browser: Browser) -> Page:
    """Return a phone in the hands of the learner, on which no script runs."""
    context = hall.context(browser, cast.LEARNER, viewport={"width": 360, "height": 740}, java_script_enabled=False)
    return context.new_page()


def set_by_keyboard(teacher: Page) -> str:
    """Set a test, by keyboard from its title on, and return its address."""
    teacher.goto(f"/groups/{CLASS}")
    teacher.get_by_role("link", name="Field tests").click()
    teacher.get_by_role("link", name="The fiddlers").click()
    for place in (1, 2):
        teacher.locator("[name=pair]").nth(place).uncheck()
    teacher.get_by_label("Pictures a form").fill("2")
    teacher.get_by_label("Minutes for a sitting").fill("15")
    teacher.get_by_label("The clock may be stopped").press("Space")
    teacher.get_by_label("Title").focus()
    teacher.keyboard.type("Before the passage")
    teacher.keyboard.press("Enter")
    expect(teacher.get_by_role("heading", level=1)).to_have_text("Before the passage")
    return teacher.url


def begin_and_lose_the_line(phone: Page, hall: Hall) -> None:
    """Find the test, answer one question, and be gone."""
    phone.goto(f"/groups/{CLASS}")
    phone.get_by_role("link", name="Field tests").click()
    phone.get_by_role("link", name="Before the passage").click()
    phone.get_by_role("button", name="Begin").click()
    expect(phone.locator("main")).to_contain_text("picture 1 of 4. About 15 minutes left")
    phone.wait_for_load_state("load")
    assert phone.evaluate("document.querySelector('.picture img').naturalWidth") > 0
    phone.get_by_role("button", name="Sluice Fiddler").click()
    phone.context.set_offline(True)
    hall.clock.pass_by(minutes=2)
    phone.context.close()


def go_on_and_hand_in(phone: Page, hall: Hall) -> None:
    """Come back, stop the clock, answer the others, look over what was said, and hand it in."""
    phone.goto("/field-tests")
    phone.get_by_role("link", name="Before the passage").click()
    phone.get_by_role("button", name="Go on with it").click()
    expect(phone.locator("main")).to_contain_text("picture 2 of 4. About 13 minutes left")
    phone.get_by_role("button", name="Stop the clock").click()
    hall.clock.pass_by(minutes=40)
    phone.get_by_role("button", name="Go on").click()
    expect(phone.locator("main")).to_contain_text("About 13 minutes left")
    for _ in range(3):
        phone.get_by_role("button", name="Sluice Fiddler").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Look over what you have said")
    phone.get_by_role("link", name="Picture 1").click()
    expect(phone.get_by_role("button", name="Sluice Fiddler, adult, as you said")).to_be_visible()
    phone.get_by_role("link", name="Look over what you have said").click()
    phone.get_by_role("button", name="Hand it in").click()
    expect(phone.locator("main")).to_contain_text("You answered 4 of 4")


def look_at_what_it_came_to(teacher: Page) -> None:
    """Shut the test, see who had how many right, and how each question did."""
    teacher.reload()
    teacher.get_by_text("Shut it now").click()
    teacher.get_by_role("button", name="Shut the test").click()
    expect(teacher.get_by_role("row", name=cast.LEARNER.name)).to_contain_text("2 of 4")
    teacher.get_by_role("link", name="Its questions, and pictures to doubt").click()
    cells = teacher.locator("tbody td:nth-child(4)")
    expect(cells).to_have_count(4)
    assert sorted(cells.all_inner_texts()) == ["0 of 1", "0 of 1", "1 of 1", "1 of 1"]


def test_from_setting_to_item_analysis(hall: Hall, browser: Browser) -> None:
    keeper, learner = hall.people[cast.KEEPER], hall.people[cast.LEARNER]
    with hall.store.work() as db:
        hold_more_out(db, 3)
        group = groups.make_group(db, by=keeper, title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=hall.clock.now)
        groups.add_member(db, group.id, learner.id, at=hall.clock.now)
    teacher = hall.context(browser, cast.KEEPER).new_page()
    test = set_by_keyboard(teacher)
    begin_and_lose_the_line(pupil_page(hall, browser), hall)
    phone = pupil_page(hall, browser)
    go_on_and_hand_in(phone, hall)
    look_at_what_it_came_to(teacher)

    phone.goto(f"/field-tests/{test.rpartition('/')[2]}")
    expect(phone.locator("main")).to_contain_text("Your results come once")
    teacher.goto(test)
    teacher.get_by_role("button", name="Release the results").click()
    phone.reload()
    expect(phone.locator("main")).to_contain_text("2 of 4 right.")
    expect(phone.locator("main")).to_contain_text("Marsh Fiddler, adult taken for Sluice Fiddler, adult, 2 times")
    with teacher.expect_download() as kept:
        teacher.get_by_role("button", name="Keep sitters, CSV").click()
    assert cast.LEARNER.name in kept.value.path().read_text("utf-8-sig")
