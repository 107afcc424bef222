"""A class from its list to its pupil in a real browser: pasted by keyboard, slips as printed, and a phone without scripts."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from drillhall.people import groups
from tests import cast
from tests.browser.field_tests_at_work import CLASS
from tests.browser.looking import look_at
from tests.hall import Hall

NAMES = [f"Pupil {number:02}" for number in range(1, 19)]


def test_from_a_list_to_a_pupil_who_signs_in(hall: Hall, browser: Browser) -> None:
    with hall.store.work() as db:
        groups.make_group(
            db, by=hall.people[cast.KEEPER], title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=hall.clock.now
        )
    teacher = hall.context(browser, cast.KEEPER).new_page()
    teacher.goto(f"/groups/{CLASS}")
    teacher.get_by_role("link", name="List of the class").click()
    teacher.get_by_label("Paste it").fill("\n".join(NAMES))
    teacher.get_by_role("button", name="Look at it").press("Enter")
    expect(teacher.get_by_role("heading", name="New: 18")).to_be_visible()
    teacher.get_by_role("button", name="Do this").press("Enter")
    # Eight are made in a request; the page goes on by itself.
    expect(teacher.locator(".slip")).to_have_count(18)
    said = teacher.locator(".slip", has_text="Pupil 07").locator("dd").nth(2).inner_text()
    teacher.emulate_media(media="print")
    expect(teacher.get_by_role("heading", level=1)).to_be_hidden()
    pages = teacher.evaluate("Math.ceil(document.querySelector('.slips').getBoundingClientRect().height / 1032)")
    assert pages <= 3, "A4 at 96 dots an inch, less its margins"

    phone = browser.new_context(base_url=hall.address, viewport={"width": 360, "height": 740}, java_script_enabled=False).new_page()
    phone.goto("/sign-in")
    phone.get_by_label("Name").fill("pupil 07")
    phone.get_by_label("Passphrase", exact=True).fill(said)
    phone.get_by_role("button", name="Sign in").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Choose your own passphrase")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 360
    phone.get_by_label("Your passphrase").fill("a wet goat with an umbrella")
    phone.get_by_role("button", name="Take it").click()
    phone.get_by_label("Name").fill("Pupil 07")
    phone.get_by_label("Passphrase", exact=True).fill("a wet goat with an umbrella")
    phone.get_by_role("button", name="Sign in").click()
    phone.goto("/groups")
    expect(phone.locator("main")).to_contain_text("Form Six")

    teacher.emulate_media(media="screen")
    teacher.reload()
    expect(teacher.locator(".slip")).to_have_count(17)
    assert look_at(teacher) == []
