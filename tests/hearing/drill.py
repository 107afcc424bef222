"""A drill by keys with a screen reader: what is done at each moment, and what must be heard then. The table stands in DEVELOPERS.md."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from playwright.sync_api import Error, Page

from tests import cast
from tests.browser.drill.steps import ASLEEP_MS, prefer
from tests.hall import Hall
from tests.hearing.desk import Desk
from tests.hearing.voice import Said

NAME = "(Sluice|Marsh|Stilt) Fiddler"
PICTURE = "One bird standing on (mud|sand|grass|water), seen from the side"
VERDICT = rf"(Right|Missed): {NAME}\. Decides: \w+(, ringed)?\. Here: [\w ]+\."
LOST = r"No connection\. Your answers are kept on this device\."
BACK = r"The connection is back\. Your answers are handed in\."
NOISE = "clickable|status ?bar"
MOST_TABS = 30
MOST_SECONDS = 60
MOST_QUESTIONS = 150
BEHIND = 4
ASKED = "[data-panel=asked] button[name=answer]"
SEEN = "selector => [...document.querySelectorAll(selector)].some(one => one.checkVisibility())"
DO = "([selector, act]) => [...document.querySelectorAll(selector)].find(one => one.checkVisibility())?.[act]()"


@dataclass
class Moment:
    """What was heard at one moment, beside what was wanted: patterns in their order, each once; and what must not be heard."""

    name: str
    heard: Sequence[Said]
    wanted: Sequence[str] = ()
    never: str = NOISE
    whole: bool = True
    wrong: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Compare."""
        words = " | ".join(one.words for one in self.heard)
        at = 0
        for pattern in self.wanted:
            found = [match.start() for match in re.finditer(pattern, words)]
            if not found:
                self.wrong.append(f"not said: {pattern}")
            elif len(found) > 1:
                self.wrong.append(f"said {len(found)} times: {pattern}")
            elif found[0] < at:
                self.wrong.append(f"said too early: {pattern}")
            at = max(at, *found, 0)
        self.wrong += [f"said: {match[0]}" for match in re.finditer(self.never, words)]
        self.wrong += [f"cut off: {one}" for one in self.heard if self.whole and one.share < 1]


def moments(hall: Hall, desk: Desk) -> Iterator[Moment]:
    """Go through a drill, and yield each moment as it passes."""
    prefer(hall, minutes_a_day=5)
    name, value = hall.sign_in(cast.LEARNER)
    desk.context.add_cookies([{"name": name, "value": value, "url": hall.address}])
    page = desk.context.pages[0]
    page.goto("/")
    yield Moment("Today comes", desk.hear(60), ["Finished loading Today - drillhall"], never=f"connection|{NOISE}", whole=False)
    _tab_to(desk, page, "form button.act-full")
    yield Moment("to the button", desk.hear(), ["Start today's drill: about \\d+ minutes push button"], whole=False)
    desk.press("Return")
    _wait(page, "[data-playing]")
    met = ["Finished loading Meet the pair - drillhall", f"{NAME} and \\| heading level 1", "The bill decides", "Try a round: 3 pictures"]
    yield Moment("the first pair is met, read from the page's top", desk.hear(60), met)
    yield from _a_round(desk, page)
    yield from _without_a_connection(desk, page)
    _answer_until(page, "[data-begin]")
    yield Moment("a second pair is met", desk.hear(quiet=BEHIND)[-2:], [f"{NAME} and \\| {NAME} heading level 1"])
    _answer_until(page, "main.page")
    yield Moment("the end", desk.hear(60, BEHIND), ["Finished loading Drill done - drillhall"], whole=False)


def _a_round(desk: Desk, page: Page) -> Iterator[Moment]:
    _tab_to(desk, page, "[data-begin]")
    desk.hear()
    desk.press("Return")
    trait = ["form Look at the bill\\. Which shape is it\\?", PICTURE]
    yield Moment("a trait is asked", desk.hear(), trait, never=f"{NAME}|{NOISE}")
    yield from _a_hint(desk, page)
    _tab_to(desk, page, ASKED)
    yield Moment("its first answer", desk.hear(), ["(straight|bent down at the tip), I see this push button"], whole=False)
    desk.press("Return")
    told = ["Next (question|picture) push button", "(Right|Missed)\\. Bill: [\\w ]+, ringed\\."]
    yield Moment("the trait is told", desk.hear(), told, never=f"{NAME}|{NOISE}|form")
    while not _sees(page, "[data-panel=asked] .ladder"):
        _go_on(desk, page)
    yield Moment("a form is asked", desk.hear(), ["form Which form is this\\?", PICTURE], never=f"{NAME}|{NOISE}", whole=False)
    for _ in range(6):
        _tab_to(desk, page, ASKED, least=1)
        desk.hear()
    desk.press("shift+Tab")
    yield Moment("its last answer but one", desk.hear(), [f"{NAME}, probable push button"])
    desk.press("Return")
    yield Moment("the form is told", desk.hear(), ["Next picture push button", VERDICT], never=f"{NOISE}|form")
    yield from _why(desk)
    _go_on(desk, page)
    desk.hear()


def _a_hint(desk: Desk, page: Page) -> Iterator[Moment]:
    if not _sees(page, "[data-hint]"):
        return
    _tab_to(desk, page, "[data-hint]")
    desk.hear()
    desk.press("Return")
    yield Moment("a hint", desk.hear(), ["Look here: bill\\."])


def _why(desk: Desk) -> Iterator[Moment]:
    """Read the panel from its heading on, line by line."""
    desk.press("shift+h")
    heard = desk.hear()
    for _ in range(14):
        desk.press("Down")
        heard += desk.hear()
    wanted = [f"(Right|Missed): {NAME} heading level 1", "Decides: ", "Here: ", f"{NAME}, adult\\. Bill: straight\\. image", "CC0 1.0 link"]
    yield Moment("why, line by line", heard, wanted, never=NOISE)
    desk.press("shift+g")
    heard = desk.hear()
    desk.press("shift+g")
    heard += desk.hear()
    desk.press("shift+g")
    yield Moment("the picture, told", [*heard, *desk.hear()], [f"{PICTURE}\\. {NAME}, \\w+\\. Bill, ringed: [\\w ]+\\."])


def _without_a_connection(desk: Desk, page: Page) -> Iterator[Moment]:
    desk.context.set_offline(True)
    heard: list[Said] = []
    for _ in range(2):
        while not _sees(page, ASKED):
            _quickly(page)
        page.evaluate(DO, [ASKED, "focus"])
        desk.hear()
        desk.press("Return")
        heard += desk.hear()
    yield Moment("two answers without a connection", heard, [LOST])
    desk.context.set_offline(False)
    yield Moment("it is back", desk.hear(), [BACK])


def _tab_to(desk: Desk, page: Page, selector: str, least: int = 0) -> None:
    """Press Tab until the focus is where it is to be."""
    for number in range(MOST_TABS):
        if number >= least and page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
        desk.press("Tab")
        page.wait_for_timeout(200)
    raise AssertionError(f"{MOST_TABS} Tabs do not reach {selector}")


def _go_on(desk: Desk, page: Page) -> None:
    """Leave what is told, or answer what is asked, by keys."""
    page.wait_for_timeout(ASLEEP_MS)
    page.evaluate(DO, [f"[data-next], {ASKED}", "focus"])
    desk.press("Return")
    page.wait_for_timeout(ASLEEP_MS)


def _quickly(page: Page) -> None:
    """Answer, or go on, by a script."""
    page.evaluate(DO, [f"[data-begin], [data-next], {ASKED}", "click"])
    page.wait_for_timeout(2 * ASLEEP_MS)


def _answer_until(page: Page, selector: str) -> None:
    """Answer question after question until such a thing is in view."""
    for _ in range(MOST_QUESTIONS):
        if _sees(page, selector):
            return
        _quickly(page)
    raise AssertionError(f"{MOST_QUESTIONS} questions do not lead to {selector}")


# Playwright's locators listen for clicks in the page, which then is told to the reader as clickable; so the page is asked by scripts alone.
def _sees(page: Page, selector: str) -> bool:
    """Return whether such a thing is in view; between two pages nothing is."""
    try:
        return bool(page.evaluate(SEEN, selector))
    except Error:
        return False


def _wait(page: Page, selector: str) -> None:
    """Wait until it is."""
    ends = time.monotonic() + MOST_SECONDS
    while not _sees(page, selector):
        assert time.monotonic() < ends, selector
        page.wait_for_timeout(50)
