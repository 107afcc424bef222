"""One visit of the walk of all pages: who looks at what, in which state of the hall."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page

from tests import cast
from tests.hall import Hall

SEND = "() => { const form = document.querySelector('main form[method=post]'); form.noValidate = true; form.requestSubmit(); }"

Values = dict[str, object]


def nothing(_hall: Hall) -> Values:
    """Give an address without parts."""
    return {}


@dataclass(frozen=True)
class Visit:
    """One page in one state: its endpoint and the parts of its address, who looks, and what she does there before we look."""

    endpoint: str
    what: str = ""
    who: cast.Someone | None = None
    state: str = "nothing_yet"
    where: Callable[[Hall], Values] = nothing
    then: Callable[[Page], object] | None = None
    expected: int = 200
    scripts: bool = True

    @property
    def name(self) -> str:
        """What the test is called."""
        return f"{self.endpoint}{', ' + self.what if self.what else ''}"


def send(page: Page) -> None:
    """Send the page's own form as it stands, past what the browser would refuse by itself."""
    with page.expect_navigation():
        page.evaluate(SEND)
