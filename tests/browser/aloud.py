"""What a screen reader has to go by: the accessibility tree of Chromium, and what live regions come to say."""

from __future__ import annotations

from dataclasses import dataclass

from playwright.sync_api import CDPSession, Page

LISTEN = """() => {
  window.heardAloud = [];
  for (const region of document.querySelectorAll('[role=status], [role=alert], [aria-live]')) {
    const hear = () => { const words = region.textContent.replace(/\\s+/g, ' ').trim(); if (words) window.heardAloud.push(words); };
    new MutationObserver(hear).observe(region, {childList: true, characterData: true, subtree: true});
  }
}"""


@dataclass(frozen=True)
class Node:
    """One node of the tree: what it is, what it is called, and what describes it."""

    role: str
    name: str
    description: str


class Ear:
    """Listens to one page."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._tree: CDPSession = page.context.new_cdp_session(page)
        self._tree.send("Accessibility.enable")
        page.evaluate(LISTEN)

    def heard(self) -> list[str]:
        """Return what live regions came to say since this was last asked, in order."""
        told: list[str] = self._page.evaluate("() => window.heardAloud.splice(0)")
        return told

    def nodes(self) -> list[Node]:
        """Return what can be read on the page now, in the order in which it is read."""
        return [self._node(one) for one in self._tree.send("Accessibility.getFullAXTree")["nodes"] if not one["ignored"]]

    def focused(self) -> Node:
        """Return what has the focus, as it is said."""
        for one in self._tree.send("Accessibility.getFullAXTree")["nodes"]:
            has = {prop["name"]: prop["value"].get("value") for prop in one.get("properties", ())}
            if has.get("focused") and one.get("role", {}).get("value") != "RootWebArea":
                return self._node(one)
        raise AssertionError("nothing has the focus")

    def clickable_around(self, selector: str) -> list[str]:
        """Return what around a thing listens for clicks: screen readers then call everything within it clickable."""
        script = f"document.querySelector({selector!r})"
        around = []
        while (found := self._tree.send("Runtime.evaluate", {"expression": script})["result"]).get("subtype") == "node":
            listeners = self._tree.send("DOMDebugger.getEventListeners", {"objectId": found["objectId"]})["listeners"]
            around += [found["description"] for one in listeners if one["type"] in ("click", "mousedown", "mouseup")]
            script += ".parentNode"
        return around

    @staticmethod
    def _node(one: dict[str, dict[str, str]]) -> Node:
        words = (" ".join(str(one.get(part, {}).get("value", "")).split()) for part in ("role", "name", "description"))
        return Node(*words)
