"""How quick the drill is in a browser: its first page on a slow line, and the time from a tap to what is told on a slow phone."""

from __future__ import annotations

import logging
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from threading import Thread
from typing import Any, Final

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page
from waitress import create_server

from drillhall.cli.draining import Draining
from drillhall.config import asset_folder
from tests import chromium
from tests.bench.rows import Measured, Row, Size, at_least, at_most
from tests.browser.drill.steps import PHONE, answer, begin_round, go_on, told
from tests.browser.halls import a_drill_begun
from tests.cast import LEARNER
from tests.hall import Hall, build_hall, open_hall

SLOW_LINE: Final = {"offline": False, "latency": 150, "downloadThroughput": 1.6e6 / 8, "uploadThroughput": 0.75e6 / 8}
SLOWER_CPU: Final = 4
A_FRAME_MS: Final = 1000 / 60

WATCH: Final = """
new PerformanceObserver(list => { for (const one of list.getEntries()) window.paint = one.startTime; })
  .observe({type: 'largest-contentful-paint', buffered: true});
window.shift = 0;
new PerformanceObserver(list => { for (const one of list.getEntries()) if (!one.hadRecentInput) window.shift += one.value; })
  .observe({type: 'layout-shift', buffered: true});
"""
"""Keeps the time of the largest paint and the sum of all shifts that no tap caused (W3C, Largest Contentful Paint; Layout Instability)."""


@dataclass(frozen=True, slots=True)
class FirstVisit:
    """What the first visit of a drill page cost: bytes as they came over the line, and when the largest thing was painted."""

    page_kb: float
    picture_kb: float
    paint_ms: float
    shift: float


def rows(size: Size) -> Iterable[Row]:
    """Return the rows of this subject."""
    visits, taps = size.of(5, 1), size.of(60, 6)
    return (
        Row("pages: first drill page before pictures", "KB", at_most(40), lambda: Measured(_first_visits(visits)[0].page_kb)),
        Row("pages: first picture at 360 px", "KB", at_most(80), lambda: Measured(_first_visits(visits)[0].picture_kb)),
        Row(
            "pages: largest paint at 1.6 Mbit/s and 150 ms",
            "ms",
            at_most(1200),
            lambda: Measured(median(visit.paint_ms for visit in _first_visits(visits))),
        ),
        Row(
            "pages: layout shift",
            "score",
            at_most(0),
            lambda: Measured(max(visit.shift for visit in _first_visits(visits)) + _taps(taps).shift),
        ),
        Row("pages: tap to feedback, 95th percentile, CPU 4x slower", "ms", at_most(50), lambda: Measured(_taps(taps).p95_ms, A_FRAME_MS)),
        Row("pages: next picture decoded ahead", "share", at_least(1), lambda: Measured(_taps(taps).ahead)),
    )


@dataclass(frozen=True, slots=True)
class Taps:
    """What a drill of many taps came to: 95th percentile of the time to feedback, shift, share of pictures that were there at once."""

    p95_ms: float
    shift: float
    ahead: float


@cache
def _first_visits(count: int) -> tuple[FirstVisit, ...]:
    with _drill() as (hall, browser):
        return tuple(_first_visit(hall, browser) for _ in range(count))


def _first_visit(hall: Hall, browser: Browser) -> FirstVisit:
    context = hall.context(browser, LEARNER, viewport=PHONE, device_scale_factor=1)
    page, line = _page(context)
    line.send("Network.emulateNetworkConditions", SLOW_LINE)
    kinds: dict[str, str] = {}
    came: dict[str, float] = {}
    line.on("Network.responseReceived", lambda told: kinds.update({told["requestId"]: told["type"]}))
    line.on("Network.loadingFinished", lambda told: came.update({told["requestId"]: told["encodedDataLength"]}))
    # The pair has been met, so that the page holds a question and its picture.
    page.goto(f"/drill?met={_first_round(hall)}", wait_until="load")
    page.wait_for_timeout(1000)
    words = sum(size for one, size in came.items() if kinds.get(one) in {"Document", "Stylesheet", "Script"})
    address = page.evaluate("document.querySelector('#shown').currentSrc || document.querySelector('#shown image')?.href.baseVal")
    picture = len(context.request.get(address).body()) if not address.startswith("blob:") else float("nan")
    visit = FirstVisit(words / 1024, picture / 1024, page.evaluate("window.paint"), page.evaluate("window.shift"))
    context.close()
    return visit


@cache
def _taps(count: int) -> Taps:
    with _drill() as (hall, browser):
        context = hall.context(browser, LEARNER, viewport=PHONE)
        page, line = _page(context)
        page.goto("/drill")
        page.wait_for_selector("[data-at-hand]", state="attached", timeout=120_000)
        line.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER_CPU})
        waits: list[float] = []
        begin_round(page)
        page.evaluate("performance.clearMeasures('picture awaited')")  # before the first picture there was none to look at meanwhile
        for _ in range(count):
            answer(page)
            if told(page).locator("[data-next]").inner_text() == "How it went":
                break
            waits.append(_next_picture_ms(page))
        times = page.evaluate("performance.getEntriesByName('tap to feedback').map(one => one.duration)")
        shift = page.evaluate("window.shift")
        context.close()
    p95 = quantiles(times, n=20)[-1] if len(times) > 1 else times[0]
    return Taps(p95, shift, sum(wait == 0 for wait in waits) / len(waits))


def _next_picture_ms(page: Page) -> float:
    """Go on, and return for how long the page had to decode the next picture first: 0 where it stood ready."""
    go_on(page)
    begin_round(page)
    found: float = page.evaluate("performance.getEntriesByName('picture awaited').reduce((sum, one) => sum + one.duration, 0)")
    page.evaluate("performance.clearMeasures('picture awaited')")
    return found


def _page(context: BrowserContext) -> tuple[Page, CDPSession]:
    page = context.new_page()
    page.add_init_script(WATCH)
    line = context.new_cdp_session(page)
    line.send("Network.enable")
    return page, line


def _first_round(hall: Hall) -> int:
    from tests.browser.halls import the_packet

    return the_packet(hall).rounds[0].id


@contextmanager
def _drill() -> Iterator[tuple[Hall, Browser]]:
    """Open a hall with the demo's pictures behind the server that ships, with a drill begun."""
    with TemporaryDirectory() as folder, chromium.running() as browser:
        built = build_hall(Path(folder) / "built", write=_demo_cards)
        with open_hall(built, Path(folder) / "hall") as hall, _serving(hall):
            a_drill_begun(hall)
            yield hall, browser


@contextmanager
def _serving(hall: Hall) -> Iterator[None]:
    """Let a hall be served as the program serves it, until leaving; whoever is still asking then is answered first."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    server: Any = create_server(hall.app, host="127.0.0.1", port=0, threads=4)
    draining = Draining(server)
    serving = Thread(target=draining.run, daemon=True)
    serving.start()
    hall.address = f"http://127.0.0.1:{server.effective_port}"
    try:
        yield
    finally:
        draining.begin()
        serving.join()
        server.trigger.close()
        server.close()


def _demo_cards(folder: Path) -> Path:
    first = sorted(path for path in asset_folder("demo_cards").iterdir() if path.is_dir())[0]
    return Path(shutil.copytree(first, folder))
