"""Answers in a real browser: by finger and by key, explained at once."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from drillhall.practice import left, playing
from tests.browser.drill.steps import (
    ASLEEP_MS,
    answer,
    answers,
    asked,
    begin_round,
    go_on,
    here,
    moved_on,
    prefer,
    start,
    told,
    wait_for_answers,
)
from tests.cast import LEARNER
from tests.hall import Hall


def test_a_learner_reaches_an_explained_answer(hall: Hall, page: Page) -> None:
    start(page)
    expect(page.locator("[data-meet] h1")).to_be_visible()
    begin_round(page)
    said = answer(page)
    expect(told(page).locator("h1")).to_have_text(re.compile("^(Right|Missed)"))
    assert told(page).locator(".credit:not(.why)").inner_text()
    [row] = wait_for_answers(hall, page, 1)
    assert f"{row.said}:{row.sure or ''}" == said
    assert row.id[14] == "7"  # a UUID of version 7, RFC 9562
    assert 0 <= row.seconds < 60


def test_every_answer_tells_what_decides_with_its_mark_and_both_forms(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    while asked(page).locator(".ladder").count() == 0:
        answer(page)
        go_on(page)
        begin_round(page)
    before = page.locator("#shown").get_attribute("alt")
    assert "Fiddler" not in (before or "")
    answer(page)
    expect(told(page)).to_contain_text("Decides: bill, ringed.")
    expect(page.locator("[data-picture] .ring")).to_be_visible()
    expect(told(page).locator("svg.closeup")).to_have_count(2)
    assert "Fiddler" in (page.locator("#shown").get_attribute("alt") or "")
    assert "Fiddler" in page.locator("[data-status]").inner_text()


def test_a_whole_drill_by_keys_alone_takes_one_key_an_answer(hall: Hall, page: Page) -> None:
    prefer(hall, minutes_a_day=3)
    start(page)
    for turn in range(200):
        if page.locator("[data-begin]").is_visible():
            page.locator("[data-begin]").focus()
            page.keyboard.press("Enter")
        asked(page).wait_for()
        place = here(page)
        page.keyboard.press("KeyS" if turn % 2 else "KeyL")
        expect(told(page).locator("[data-next]")).to_be_focused()
        page.wait_for_timeout(ASLEEP_MS)
        page.keyboard.press("Enter")
        moved_on(page, place)
        if "/drill/end" in page.url:
            break
    assert "/drill/end" in page.url
    with hall.store.look() as db:
        drill_id = playing.find_latest_drill(db, hall.people[LEARNER].id)
        assert drill_id
        assert left.pictures_left(db, hall.people[LEARNER].id, drill_id, today=hall.clock.now.date()) == 0


def test_neither_takes_two_keys(hall: Hall, steady: None, page: Page) -> None:
    known = {row.id for row in answers(hall)}
    start(page)
    begin_round(page)
    page.locator(".panel").focus()
    page.keyboard.press("KeyN")
    expect(page.locator(".neither .row")).to_be_visible()
    page.keyboard.press("KeyD")
    told(page).wait_for()
    expect(told(page).locator(".across")).to_contain_text("Neither of these; said probable")
    rows = wait_for_answers(hall, page, len(known) + 1)
    assert [row.said for row in rows if row.id not in known] == ["0"]


def test_keys_do_nothing_outside_the_panel_unless_asked_for(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    page.locator("[data-picture]").focus()
    page.keyboard.press("KeyS")
    expect(asked(page)).to_be_visible()
    assert answers(hall) == []
    prefer(hall, single_keys=True)
    page.reload()
    page.wait_for_selector("[data-playing]")
    begin_round(page)
    page.locator("[data-picture]").focus()
    page.keyboard.press("KeyS")
    told(page).wait_for()


def test_a_reload_goes_on_at_the_first_unanswered_question(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    answer(page)
    wait_for_answers(hall, page, 1)
    first = here(page)
    page.reload()
    page.wait_for_selector("[data-playing]")
    assert here(page) != first
    begin_round(page)
    answer(page)
    assert len(wait_for_answers(hall, page, 2)) == 2


def test_a_second_tap_at_once_does_not_skip_the_explanation(page: Page) -> None:
    start(page)
    begin_round(page)
    # Both taps are the page's own: the driver's second one may come late enough to be meant.
    asked(page).locator("button[name=answer]:visible").first.evaluate(
        """async button => {
          const next = () => [...document.querySelectorAll('[data-panel=answered] [data-next]')].find(one => one.checkVisibility());
          button.click();
          while (!next()) await new Promise(requestAnimationFrame);
          next().click();
        }"""
    )
    page.wait_for_timeout(100)
    expect(told(page)).to_be_visible()
    go_on(page)
    begin_round(page)


def test_a_key_held_down_counts_once(steady: None, page: Page) -> None:
    start(page)
    begin_round(page)
    page.locator(".panel").focus()
    for _ in range(4):
        page.keyboard.down("KeyN")  # without a key up, those after the first are repeats
    expect(page.locator(".neither .row")).to_be_visible()


def test_a_hint_rings_where_to_look_and_is_remembered(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    page.get_by_role("link", name="Hint: where to look").click()
    expect(page.locator("[data-picture] .ring")).to_be_visible()
    expect(page.locator("[data-hint]")).to_be_hidden()
    answer(page)
    assert wait_for_answers(hall, page, 1)[0].hint
    go_on(page)
    begin_round(page)
    expect(page.locator("[data-picture] .ring")).to_have_count(0)
    answer(page)
    assert not wait_for_answers(hall, page, 2)[1].hint


def test_feedback_is_there_within_the_tap_s_own_frame_or_two(page: Page, record_property: pytest.FixtureRequest) -> None:
    start(page)
    for _ in range(5):
        begin_round(page)
        answer(page)
        go_on(page)
    page.wait_for_function("performance.getEntriesByName('tap to feedback').length >= 5")
    took = page.evaluate("performance.getEntriesByName('tap to feedback').map(one => one.duration)")
    assert len(took) == 5
    record_property("tap to feedback, ms", took)  # type: ignore[operator] - measured, not asserted by the clock
