"""Looks at a page as it stands in the browser and says what is wrong with it: too wide, cut, too faint, or out of reach."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from playwright.sync_api import ConsoleMessage, Page, Response

# Rounding of fractional layouts alone must not count.
FIT = """
(() => {
  const slack = 1, found = [], wide = document.documentElement.clientWidth;
  const named = element => {
    const words = element.textContent.trim().replace(/\\s+/g, ' ').slice(0, 40);
    const tag = element.tagName.toLowerCase() + (element.id ? '#' + element.id : '');
    return `${tag}${[...element.classList].map(name => '.' + name).join('')} "${words}"`;
  };
  const style = element => getComputedStyle(element);
  const hides = value => value === 'hidden' || value === 'clip';
  const scrolls = value => value === 'auto' || value === 'scroll';
  const chain = element => { const up = []; for (let one = element; one; one = one.parentElement) up.push(one); return up; };
  // Text for screen readers alone is cut on purpose: to one pixel, or to nothing.
  const unseen = element => !element.checkVisibility({visibilityProperty: true}) || chain(element).some(one => {
    const box = one.getBoundingClientRect(), its = style(one);
    const dot = hides(its.overflowX) && box.width <= 1 && box.height <= 1;
    return its.position === 'absolute' && (dot || its.clipPath.startsWith('inset(50%'));
  });
  if (document.scrollingElement.scrollWidth > wide + slack)
    found.push(`the page is ${document.scrollingElement.scrollWidth} px wide in a window of ${wide}`);
  for (const element of document.body.querySelectorAll('*')) {
    const box = element.getBoundingClientRect();
    // What lies inside a drawing may be cropped by it; its words are looked at below all the same.
    if (!box.width || !box.height || element.ownerSVGElement || unseen(element)) continue;
    if (chain(element.parentElement).some(one => scrolls(style(one).overflowX))) continue;
    if (box.right > wide + slack || box.left < -slack) found.push(`sticks out of the window: ${named(element)}`);
  }
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const told = new Set();
  while (walker.nextNode()) {
    const node = walker.currentNode, parent = node.parentElement;
    if (!node.textContent.trim() || !parent || unseen(parent) || parent.tagName === 'OPTION') continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      if (!box.width || !box.height) continue;
      for (const one of chain(parent)) {
        const its = style(one), frame = one.getBoundingClientRect();
        const acrossCut = hides(its.overflowX) && (box.right > frame.right + slack || box.left < frame.left - slack);
        // A line box is taller than its letters, so a quarter of it may hang over.
        const downCut = hides(its.overflowY) && (box.bottom > frame.bottom + box.height / 4 || box.top < frame.top - box.height / 4);
        if ((acrossCut || downCut) && !told.has(one)) { told.add(one); found.push(`text is cut: ${named(one)}`); }
        if (scrolls(its.overflowX) || scrolls(its.overflowY)) break;
      }
    }
  }
  const mend = document.querySelector('[id$="-mend"]')?.textContent.trim(), way = document.querySelector('.to-field a');
  if (mend && [...document.querySelectorAll('.notice-wrong p')].some(one => one.checkVisibility() && one.textContent.includes(mend)))
    found.push(`said above and at the field: "${mend}"`);
  if (way?.checkVisibility() && !document.getElementById(decodeURIComponent(way.hash.slice(1))))
    found.push(`leads to no field: ${way.hash}`);
  for (const image of document.images)
    if (image.complete && !image.naturalWidth) found.push(`a picture did not load: ${image.getAttribute('src')}`);
  return found;
})()
"""
UNFOLD = """
() => {
  const folded = [...document.querySelectorAll('details:not([open])')];
  for (const one of folded) one.open = true;
  return folded.length;
}
"""
# A picture that is fetched only once it is looked at need not be there before.
PICTURES_THERE = """
() => [...document.images].every(one => {
  const box = one.getBoundingClientRect(), isAfar = box.bottom < 0 || box.top > innerHeight || !one.checkVisibility();
  return one.complete || (one.loading === 'lazy' && isAfar);
})
"""
AXE = """
async only => {
  const rules = {'target-size': {enabled: true}};
  const told = await axe.run(document, {resultTypes: ['violations'], rules, ...(only && {runOnly: only})});
  return told.violations.flatMap(rule => rule.nodes.map(node =>
    `${rule.id}: ${rule.help}: ${node.html.slice(0, 120)} ${(node.any[0] || node.all[0] || node.none[0] || {message: ''}).message}`));
}
"""


LEAST_WIDE = 320
"""So narrow a page must still be read without scrolling sideways: WCAG 2.2, 1.4.10."""

PHONES_BELOW = 600
LARGER = "size => { document.documentElement.style.fontSize = size; }"


def look_at(page: Page) -> list[str]:
    """Return what is wrong with the page, folded and unfolded, by light and in the dark, narrow and in large letters; else nothing."""
    page.emulate_media(color_scheme="light")
    found = _look_once(page)
    if page.evaluate(UNFOLD):
        found += [f"unfolded: {finding}" for finding in _look_once(page) if finding not in found]
    found += _look_otherwise(page)
    page.emulate_media(color_scheme="dark")
    return found + [f"in the dark: {finding}" for finding in _axe(page, "color-contrast")]


def _look_otherwise(page: Page) -> list[str]:
    """Return what does not fit on a phone with letters twice as large (WCAG 2.2, 1.4.4), and at 320 px (1.4.10).

    On a laptop there is more room for either: where letters are large in truth, a page of two columns becomes one of one.
    """
    wide = page.viewport_size
    if not wide or wide["width"] >= PHONES_BELOW:
        return []
    page.evaluate(LARGER, "200%")
    found = [f"in large letters: {finding}" for finding in page.evaluate(FIT)]
    page.evaluate(LARGER, "")
    page.set_viewport_size({"width": LEAST_WIDE, "height": wide["height"]})
    found += [f"at {LEAST_WIDE} px: {finding}" for finding in page.evaluate(FIT)]
    page.set_viewport_size(wide)
    return found


def _look_once(page: Page) -> list[str]:
    found: list[str] = page.evaluate(FIT)
    return found + _axe(page)


def faults_of(page: Page, rule: str) -> list[str]:
    """Return what one rule of axe finds on the page, as it stands."""
    return _axe(page, rule)


def _axe(page: Page, *only: str) -> list[str]:
    if not page.evaluate("() => typeof axe === 'object'"):
        page.evaluate(axe_source())  # not by a script element, which the content security policy of a page would stop
    found: list[str] = page.evaluate(AXE, list(only) or None)
    return found


@dataclass
class Watch:
    """Collects what a page complains of while it is visited: scripts that fail, policies broken, files that are missing."""

    page: Page
    heard: list[str] = field(default_factory=list)
    _expected: int = 200

    def __post_init__(self) -> None:
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda error: self.heard.append(f"a script failed: {error}"))
        self.page.on("response", self._judge)

    def visit(self, address: str, *, expected: int = 200, then: Callable[[Page], object] | None = None) -> list[str]:
        """Open an address, do there what `then` does, wait until pictures are there, and return what is wrong with the page.

        What a script does beyond that is waited for by `then`.
        `expected` is the status of the page that is looked at: of the one that `then` leads to where it leads on.
        """
        self.heard.clear()
        self._expected = expected
        self.page.emulate_media(color_scheme="light")  # else a page gone to after another would be opened in the dark
        response = self.page.goto(address, wait_until="load")
        if then is not None:
            then(self.page)
            self.page.wait_for_load_state("load")
            self.page.wait_for_function(PICTURES_THERE)
        elif response is None or response.status != expected:
            self.heard.append(f"answered {response.status if response else 'nothing'}, {expected} expected")
        self.page.evaluate("() => document.fonts.ready")
        return [*self.heard, *look_at(self.page)]

    def _hear(self, message: ConsoleMessage) -> None:
        # The browser notes the status of each failed request as well; that is judged by its response.
        # The walk lets no worker in between, which Playwright remarks; tests/browser/offline look at it.
        noted = ("Failed to load resource", "Service Worker registration blocked by Playwright")
        if message.type in {"error", "warning"} and not any(words in message.text for words in noted):
            self.heard.append(f"the console says: {message.text}")

    def _judge(self, response: Response) -> None:
        if response.status >= 400 and not (response.request.is_navigation_request() and response.status == self._expected):
            self.heard.append(f"{response.status} for {response.url}")


def axe_source() -> str:
    """Return the source of axe, for a context that brings it into each page: that is sooner done than to send it to each."""
    package: Any = find_spec("axe_playwright_python")
    return (Path(package.origin).parent / "axe.min.js").read_text(encoding="utf-8")
