"""Two pictures side by side in the drill: by key and tap, one above the other on a phone, with and without scripts."""

from __future__ import annotations

import os
import re
import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from drillhall.core.rounds import beside
from drillhall.practice import drilling, playing
from drillhall.practice.answering import store_answers
from drillhall.practice.packets import Packet
from drillhall.store.models.practice import AnswerRow, BesideTallyRow
from tests.browser.drill.steps import LAPTOP, PHONE, answers, right, small_targets, told, wait_for_answers
from tests.cast import LEARNER
from tests.hall import Hall


@pytest.fixture
def two_next(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> Packet:
    """A drill of which everything is answered but one showing of two pictures."""
    monkeypatch.setattr(beside, "BESIDE_SHARE", 1.0)
    person, packet = hall.people[LEARNER], None
    for _ in range(2):
        hall.clock.pass_by(days=3)
        with hall.store.work() as db:
            drill = drilling.start_drill(db, person.id, drill_id=str(uuid.uuid4()), at=hall.clock.now)
            packet = playing.the_packet(db, person.id, drill, now=hall.clock.now)
            last = next((one.id for view in packet.rounds for one in view.showings if one.second), 0)
            given = [right(hall, one, ask) for view in packet.rounds for one in view.showings if one.id != last for ask in one.questions]
            assert not store_answers(db, person.id, given, received_at=hall.clock.now + timedelta(minutes=1)).refused
    assert packet is not None
    assert last
    return packet


def words(page: Page) -> str:
    """Everything that a visitor may read or hear before the answer."""
    return page.locator("[data-play]").inner_text() + " ".join(
        page.locator("[data-play] :is([aria-label], [alt], [title])").evaluate_all(
            "all => all.map(one => one.ariaLabel + ' ' + (one.alt ?? '') + ' ' + one.title)"
        )
    )


def keep_look(page: Page, name: str) -> None:
    """Keep a picture of the page where somebody wants to look at it."""
    if folder := os.environ.get("DRILLHALL_LOOKS"):
        page.screenshot(path=Path(folder) / f"{name}.png")


@pytest.mark.parametrize("scripts", [True, False])
def test_asked_on_a_phone_and_told(hall: Hall, browser: Browser, two_next: Packet, scripts: bool) -> None:
    showing = next(one for view in two_next.rounds for one in view.showings if one.second)
    question, pair = showing.questions[0], next(view.pair for view in two_next.rounds if showing in view.showings)
    assert question.two is not None
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=scripts) as context:
        page = context.new_page()
        page.goto("/drill")
        if scripts:
            page.wait_for_selector("[data-playing]")
        expect(page.locator("#question")).to_have_text(f"Which one is {question.two.asked.name}?")
        page.wait_for_load_state("networkidle")
        first, second = (one.bounding_box() for one in page.locator(".one-of-two").all())
        assert first
        assert second
        assert second["y"] >= first["y"] + first["height"]
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        assert small_targets(page) == []
        heard = words(page)
        other = pair.other(question.two.asked.id).name
        assert other not in heard
        assert not any(state.label in heard for state in (question.two.trait.states if question.two.trait else ()))
        for picture in showing.pictures:
            assert picture.credit_short in heard
        keep_look(page, f"two-phone-{scripts}")
        wrong, before = "2" if question.key == "1" else "1", len(answers(hall))
        page.get_by_role("button", name=f"Picture {wrong}, This one").click()
        expect(told(page).locator("h1")).to_have_text(f"Missed: picture {question.key}")
        expect(page.locator("#shown")).to_have_attribute("aria-label", _heard(question.two.first.form.name))
        keep_look(page, f"two-phone-told-{scripts}")
        wait_for_answers(hall, page, before + 1)
        with hall.store.look() as db:
            row = db.scalars(select(AnswerRow).where(AnswerRow.showing_id == showing.id)).one()
            assert (row.said, row.sure) == (wrong, None)
            assert sum(db.scalars(select(BesideTallyRow.missed))) == 1


def test_by_key_on_a_laptop_side_by_side(hall: Hall, browser: Browser, two_next: Packet) -> None:
    showing = next(one for view in two_next.rounds for one in view.showings if one.second)
    with hall.context(browser, LEARNER, viewport=LAPTOP) as context:
        page = context.new_page()
        page.goto("/drill")
        page.wait_for_selector("[data-playing]")
        page.wait_for_load_state("networkidle")
        first, second = (one.bounding_box() for one in page.locator(".one-of-two").all())
        assert first
        assert second
        assert (second["y"], second["width"]) == (first["y"], first["width"])
        assert second["x"] >= first["x"] + first["width"]
        keep_look(page, "two-laptop")
        page.locator("[data-panel=asked]").focus()
        page.keyboard.press("s" if showing.questions[0].key == "1" else "l")
        expect(told(page).locator("h1")).to_have_text(f"Right: picture {showing.questions[0].key}")
        keep_look(page, "two-laptop-told")
        page.wait_for_timeout(400)
        page.get_by_role("button", name="How it went").click()
        page.wait_for_url("**/drill/end**")


def _heard(name: str) -> re.Pattern[str]:
    return re.compile(rf"^Picture 1: {re.escape(name)}.* Picture 2: ")
