"""What a visitor does in a drill, step by step, and what the hall then holds."""

from __future__ import annotations

import re
import uuid

from playwright.sync_api import Locator, Page
from sqlalchemy import select

from drillhall.people import accounts
from drillhall.people.person import Preferences
from drillhall.practice.answering import NewAnswer
from drillhall.practice.packets import Question, ShowingView
from drillhall.store.models.practice import AnswerRow
from tests.cast import LEARNER
from tests.hall import Hall

PHONE = {"width": 360, "height": 740}
LAPTOP = {"width": 1280, "height": 860}

ASLEEP_MS = 350
"""A little longer than the button that goes on stays deaf."""

QUEUED = """new Promise(done => {
  const opening = indexedDB.open('drillhall', 1);
  opening.onsuccess = () => {
    const reading = opening.result.transaction('answers').objectStore('answers').getAll();
    reading.onsuccess = () => { opening.result.close(); done(reading.result.filter(answer => !answer.handed).length); };
  };
})"""
"""How many answers wait on this device."""


def start(page: Page) -> None:
    """Begin today's drill and look at the first pair."""
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.wait_for_selector("[data-playing]")


def begin_round(page: Page) -> None:
    """Leave the pair that is met, if one is, and wait for a question."""
    page.locator("[data-begin]:visible, [data-panel=asked]:visible").first.wait_for()
    if page.locator("[data-begin]").is_visible():
        page.locator("[data-begin]").click()
    asked(page).wait_for()


def asked(page: Page) -> Locator:
    return page.locator("[data-panel=asked]:visible")


def told(page: Page) -> Locator:
    return page.locator("[data-panel=answered]:visible")


def answer(page: Page, number: int = 0) -> str:
    """Tap one answer and return what it sends."""
    button = asked(page).locator("button[name=answer]:visible").nth(number)
    value = button.get_attribute("value") or ""
    button.click()
    told(page).wait_for()
    return value


def go_on(page: Page) -> None:
    page.wait_for_timeout(ASLEEP_MS)
    told(page).locator("[data-next]").click()


def answers(hall: Hall) -> list[AnswerRow]:
    with hall.store.look() as db:
        return list(db.scalars(select(AnswerRow).order_by(AnswerRow.id)))


def wait_for_answers(hall: Hall, page: Page, count: int) -> list[AnswerRow]:
    for _ in range(300):
        if len(found := answers(hall)) >= count:
            return found
        page.wait_for_timeout(50)
    raise AssertionError(f"{len(answers(hall))} answers of {count} arrived")


def wait_for_queued(page: Page, count: int) -> None:
    """Wait until so many answers are written down on this device."""
    for _ in range(300):
        if page.evaluate(QUEUED) == count:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{page.evaluate(QUEUED)} answers of {count} wait on this device")


def stocked(page: Page) -> None:
    """Wait until every picture of the drill is on the device."""
    page.wait_for_load_state("networkidle")


def here(page: Page) -> tuple[str | None, str | None]:
    box = page.locator("[data-picture]")
    return box.get_attribute("data-showing"), box.get_attribute("data-ask")


def moved_on(page: Page, place: tuple[str | None, str | None]) -> None:
    """Wait until the page shows something other than that question: the next one, a pair to meet, or the end."""
    page.wait_for_function(
        """place => {
          const box = document.querySelector('[data-picture]'), meets = document.querySelector('[data-begin]');
          return !box || meets?.checkVisibility() || String([box.dataset.showing, box.dataset.ask]) !== place;
        }""",
        arg=",".join(str(one) for one in place),
    )


def places(page: Page) -> dict[str, tuple[float, ...]]:
    """Return where the picture, the question and the names stand."""
    found: dict[str, tuple[float, ...]] = {}
    for name in ("[data-picture]", "#shown", ".panel h1", ".panel .form-name"):
        for number, one in enumerate(page.locator(name).all()):
            box = one.bounding_box()
            if box and name == ".panel h1":
                found[name] = (box["x"], box["y"])
            elif box:
                found[f"{name} {number}"] = (box["x"], box["y"], box["width"], box["height"])
    return found


def small_targets(page: Page) -> list[str]:
    """Return what can be tapped in the drill and is under 44 px either way (WCAG 2.2, 2.5.5, which excepts links in text)."""
    small = """boxes => boxes.filter(one => one.checkVisibility() && getComputedStyle(one).pointerEvents !== 'none')
      .map(one => [one.textContent.trim(), one.getBoundingClientRect()])
      .filter(([, box]) => box.width < 44 || box.height < 44).map(([words, box]) => `${words}: ${box.width} x ${box.height}`)"""
    found: list[str] = page.locator("main a:not(.credit a), main button, main summary, main label").evaluate_all(small)
    return found


def words(panel: Locator) -> str:
    return " ".join(panel.inner_text().split())


def prefer(hall: Hall, **wishes: object) -> None:
    """Set what the learner prefers."""
    with hall.store.work() as db:
        accounts.set_preferences(db, hall.people[LEARNER], Preferences(zone=LEARNER.zone, **wishes), at=hall.clock.now)  # type: ignore[arg-type]


def right(hall: Hall, showing: ShowingView, question: Question) -> NewAnswer:
    sure = "certain" if question.kind == "form" else None
    return NewAnswer(str(uuid.uuid4()), showing.id, question.place, question.key, sure, 4.0, False, hall.clock.now)
