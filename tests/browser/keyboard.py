"""Works a page by its keys alone, and sees to it that the focus is in view, visible, in order, and goes everywhere."""

from __future__ import annotations

from dataclasses import dataclass, field

from playwright.sync_api import Page

MOST_STEPS = 120

FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body || one === document.documentElement) return null;
  const tidy = text => (text || '').replace(/\\s+/g, ' ').trim();
  const named = (one.getAttribute('aria-labelledby') || '').split(' ').map(id => document.getElementById(id)?.textContent).join(' ');
  const name = tidy(one.getAttribute('aria-label')) || tidy(named) || tidy(one.labels?.[0]?.textContent) || tidy(one.textContent);
  const box = one.getBoundingClientRect(), rings = [one, ...one.children].map(each => getComputedStyle(each));
  // The parts of a field for a date are the browser's own, and so are the rings round them.
  const isOfADay = one.matches('[type=date], [type=datetime-local]');
  const shown = isOfADay || rings.some(its => its.outlineStyle !== 'none' && parseFloat(its.outlineWidth) > 1);
  const inView = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
  const at = [...document.querySelectorAll('*')].indexOf(one);
  // What lies wholly below something sticky cannot be seen either: WCAG 2.2, 2.4.11.
  const spots = [[.5, .5], [.1, .2], [.9, .2], [.1, .8], [.9, .8]];
  const bare = spots.some(([x, y]) => {
    const top = document.elementFromPoint(box.left + box.width * x, box.top + box.height * y);
    return top && (one.contains(top) || top.contains(one));
  });
  return {name, shown, inView, bare, at, tag: one.tagName.toLowerCase(), role: one.getAttribute('role') || ''};
}"""


@dataclass
class Keys:
    """The keys of a keyboard on one page; `faults` is what was wrong with the focus on the way."""

    page: Page
    faults: list[str] = field(default_factory=list)

    def to(self, name: str, *, tag: str = "") -> None:
        """Go on by Tab until something is focused whose name has these words, in any case; what is met on the way is judged."""
        place = -1
        for _ in range(MOST_STEPS):
            found = self.step()
            if found is None:
                place = -1
                continue
            if found["at"] < place:
                self.faults.append(f'{self.page.url}: the focus goes back to "{found["name"][:50]}"')
            place = found["at"]
            if name.lower() in found["name"].lower() and tag in ("", found["tag"]):
                return
        raise AssertionError(f'nothing named "{name}" is reached by Tab on {self.page.url}')

    def step(self) -> dict[str, object] | None:
        """Press Tab once and return what has the focus then, or None beyond the last thing of the page."""
        self.page.keyboard.press("Tab")
        found = self.page.evaluate(FOCUSED)
        if found:
            for what, words in (("shown", "shows no focus"), ("inView", "is focused out of view"), ("bare", "is focused below something")):
                if not found[what]:
                    self.faults.append(f'{self.page.url}: {found["tag"]} "{found["name"][:50]}" {words}')
        return found

    def press(self, *keys: str) -> None:
        """Press keys, one after the other."""
        for key in keys:
            self.page.keyboard.press(key)

    def follow(self, name: str, *, tag: str = "") -> None:
        """Go to something and press Enter there, which leads to another page."""
        self.to(name, tag=tag)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def everywhere(self) -> int:
        """Go round the page once and return how many things were focused; raises where the focus cannot leave (WCAG 2.2, 2.1.2)."""
        for number in range(MOST_STEPS):
            if self.step() is None:
                return number
        raise AssertionError(f"the focus does not leave {self.page.url}")
