"""The drill as a screen reader has it: what is said when, once, and never the answer before it is given. Written down in DEVELOPERS.md."""

from __future__ import annotations

import re

from playwright.sync_api import BrowserContext, Page, expect

from drillhall.people.person import Preferences
from tests.browser.aloud import Ear
from tests.browser.drill.steps import answer, asked, begin_round, go_on, prefer, start, stocked, told, wait_for_answers
from tests.hall import Hall

NAMES = re.compile("(Marsh|Stilt|Sluice) Fiddler")


def form_asked(page: Page, ear: Ear) -> None:
    """Go on until a form is asked."""
    while asked(page).locator(".ladder").count() == 0:
        answer(page)
        go_on(page)
        begin_round(page)
    ear.heard()


def test_each_step_of_a_drill_is_said_once_and_in_its_order(hall: Hall, page: Page) -> None:
    page.goto("/")
    expect(page.locator("[data-keep-words]")).to_be_visible()
    assert page.locator("[data-keep-words] [role=status]").inner_text() == ""  # there to be read, and not said unasked
    start(page)
    ear = Ear(page)
    assert page.title() == "Meet the pair - drillhall"
    assert ear.clickable_around("[data-met-title]") == []
    begin_round(page)
    first = ear.focused()
    assert first.name in {"Which form is this?", asked(page).locator("h1").inner_text()}
    form_asked(page, ear)
    question = ear.focused()
    assert (question.role, question.name) == ("form", "Which form is this?")
    assert ear.clickable_around("[data-panel]") == []
    assert question.description == page.locator("#shown").get_attribute("alt")
    assert not NAMES.search(question.description)
    said = [node.name for node in ear.nodes() if node.role == "button"]
    answers = [name for name in said if re.fullmatch(r".+ Fiddler, (certain|probable|possible)", name)]
    assert len(answers) == len(set(answers)) == 6
    pictures = [node for node in ear.nodes() if node.role == "image"]
    assert not any(NAMES.search(node.name) for node in pictures)
    answer(page)
    assert ear.focused().role == "button"
    assert ear.focused().name.startswith("Next")
    assert [node for node in ear.nodes() if node.role == "form"] == []  # "form" would be said before the verdict
    (heard,) = ear.heard()
    assert re.match(r"(Right|Missed): (Marsh|Stilt|Sluice) Fiddler\. Decides: bill, ringed\. Here: \w+", heard), heard
    assert NAMES.search(page.locator("#shown").get_attribute("alt") or "")
    go_on(page)
    begin_round(page)
    assert ear.heard() == []
    assert ear.focused().role == "form"


def test_a_lost_connection_is_said_once_and_its_return_once(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    ear = Ear(page)
    begin_round(page)
    stocked(page)
    ear.heard()
    context.set_offline(True)
    heard = []
    for number in range(2):
        answer(page)
        expect(page.locator("[data-progress]")).to_contain_text("kept here")
        heard += ear.heard()
        go_on(page)
        begin_round(page)
        assert number < 2
    assert [words for words in heard if "connection" in words] == ["No connection. Your answers are kept on this device."]
    context.set_offline(False)
    wait_for_answers(hall, page, 2)
    expect(page.locator("[data-line-status]")).to_have_text("The connection is back. Your answers are handed in.")
    assert [words for words in ear.heard() if "connection" in words] == ["The connection is back. Your answers are handed in."]


def test_letter_keys_can_be_turned_off(hall: Hall, page: Page) -> None:
    """WCAG 2.2, 2.1.4: whoever speaks to her device presses letters that she does not mean."""
    assert Preferences().letter_keys
    prefer(hall, letter_keys=False, single_keys=True)
    start(page)
    begin_round(page)
    page.locator("[data-panel=asked]").focus()
    page.keyboard.press("KeyS")
    page.wait_for_timeout(100)
    expect(asked(page)).to_be_visible()
    assert page.locator("kbd:visible").count() == 0
    asked(page).locator("button[name=answer]").first.focus()
    page.keyboard.press("Enter")
    told(page).wait_for()
