"""The look at a page finds each fault that is planted, and nothing in a page without faults."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.looking import look_at

SHELL = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Planted</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><style>
body {{ margin: 0; background: #fff; color: #222; font: 16px/1.45 serif }}
.unseen {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap }}
</style></head><body><main><h1>Planted</h1>{inside}</main></body></html>"""
LONG = "Ruddyneckedpipetstrutterlingofthefarestuary" * 2

FAULTS = {
    "the page is": f"<p>{LONG}</p>",
    "sticks out of the window": '<div style="overflow: hidden"><p style="width: 500px">Wider than a phone</p></div>',
    "text is cut": f'<p style="overflow: hidden; white-space: nowrap; text-overflow: ellipsis">{LONG}</p>',
    "text is cut: div": f'<div style="overflow: hidden; width: 200px"><p style="width: 300px">{"eight words " * 9}</p></div>',
    "text is cut: p.low": '<p class="low" style="overflow: hidden; height: 20px; width: 60px">three lines that need more room</p>',
    "text is cut: svg": '<svg viewBox="0 0 40 30" width="200" role="img" aria-label="Chart"><text y="9">Long words</text></svg>',
    "a picture did not load": '<img src="data:image/png;base64,AAAA" alt="A bird on mud" width="40" height="40">',
    "said above and": '<div class="notice-wrong"><p>Not yet. Write a name.</p></div><p id="name-mend">Write a name.</p>',
    "leads to no field": '<p class="to-field">Not yet. <a href="#name">Mend the field</a>.</p>',
    "color-contrast": '<p style="color: #999">Too faint to read at dusk</p>',
    "image-alt": '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw==">',
    "label": '<input type="text">',
    "button-name": '<button type="button"></button>',
    "heading-order": "<h2>Second</h2><h4>Fourth</h4>",
    "unfolded: sticks out": "<details><summary>More about this one</summary><p style='width: 800px'>Wide when open</p></details>",
    "at 320 px: sticks out": "<p style='width: 340px'>Fits a phone of 360 and no smaller one</p>",
    "in large letters: sticks out": "<p style='width: 12rem'>Fits in small letters, and in large ones no more</p>",
    "target-size": '<p><button type="button" style="width: 9px; height: 9px; padding: 0; border: 0">a</button>'
    '<button type="button" style="width: 9px; height: 9px; padding: 0; border: 0">b</button></p>',
}
HARMLESS = {
    "plain": '<p>Short words</p><p class="unseen">Said aloud only, and as long as it likes to be</p>',
    "a wide table that scrolls": '<div style="overflow-x: auto" tabindex="0" role="region" aria-label="Numbers">'
    f'<p style="width: 900px">{LONG}</p></div>',
    "a tight line": '<p style="overflow: hidden; line-height: 1.1">Hanging letters gjpqy</p>',
    "a cropped picture": '<svg viewBox="0 0 40 30" width="200" role="img" aria-label="The bill"><image width="900" height="90"/></svg>',
    "a way to the field": '<p class="to-field"><a href="#name">Mend the field</a></p><p id="name">A</p><p id="name-mend">Write a name.</p>',
    "folded words": "<details><summary>More about this one</summary><p>Words that fit</p></details>",
}


@pytest.fixture(scope="module")
def phone(browser: Browser) -> Iterator[Page]:
    """A page as wide as a small phone."""
    context = browser.new_context(viewport={"width": 360, "height": 740})
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_found(phone: Page, fault: str) -> None:
    phone.set_content(SHELL.format(inside=FAULTS[fault]))
    assert [finding for finding in look_at(phone) if finding.startswith(fault)]


@pytest.mark.parametrize("inside", HARMLESS)
def test_a_page_without_faults_passes(phone: Page, inside: str) -> None:
    phone.set_content(SHELL.format(inside=HARMLESS[inside]))
    assert look_at(phone) == []


def test_a_fault_in_the_dark_alone_is_found(phone: Page) -> None:
    inside = "<style>@media (prefers-color-scheme: dark) { p { color: #eee } }</style><p>White on white after dusk</p>"
    phone.set_content(SHELL.format(inside=inside))
    (finding,) = look_at(phone)
    assert finding.startswith("in the dark: color-contrast")
