"""A passkey in a real browser: made under *You*, the second step, and the whole way in; the device is Chromium's own make-believe one."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, CDPSession, Page

from tests.cast import LEARNER
from tests.hall import Hall

DEVICE = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}
"""A device that keeps passkeys and knows who holds it, in the words of the WebAuthn domain of the DevTools protocol."""


@pytest.fixture
def page(hall: Hall, browser: Browser) -> Iterator[Page]:
    """A browser of a visitor's who asks for the hall by name, since an address of digits is no place for passkeys."""
    context = browser.new_context(base_url=hall.address.replace("127.0.0.1", "localhost"), service_workers="block")
    yield context.new_page()
    context.close()


def _device(page: Page) -> tuple[CDPSession, str]:
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    return session, session.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE})["authenticatorId"]


def _show_passphrase(page: Page) -> None:
    page.goto("/sign-in")
    page.fill("main input[name=name]", LEARNER.name)
    page.fill("main input[name=passphrase]", LEARNER.passphrase)
    page.click("main button.act")


def _sign_out(page: Page) -> None:
    page.goto("/settings")
    page.click("form[action='/sign-out'] button")
    page.wait_for_url("**/sign-in")


def test_it_is_made_and_shown_by_a_browser(page: Page) -> None:
    session, device = _device(page)
    _show_passphrase(page)
    page.goto("/passkeys")
    page.fill("main input[name=name]", "telephone")
    page.fill("main input[name=passphrase]", LEARNER.passphrase)
    page.click("main button.act")
    page.click("[data-passkey=make] [data-passkey-ask]")
    page.wait_for_url("**/second-step/spare-codes")
    assert page.locator("main ol li").count() == 10
    (kept,) = session.send("WebAuthn.getCredentials", {"authenticatorId": device})["credentials"]
    assert (kept["rpId"], kept["isResidentCredential"]) == ("localhost", True)
    _sign_out(page)
    _show_passphrase(page)
    page.click("[data-passkey=show] [data-passkey-ask]")
    page.wait_for_url("**/")
    _sign_out(page)
    page.check("main input[name=stay]")
    page.click("[data-passkey=show] [data-passkey-ask]")
    page.wait_for_url("**/")
    page.goto("/passkeys")
    assert "last used" in page.inner_text("main")
    page.click("main ul.index a")
    page.fill("main input[name=passphrase]", LEARNER.passphrase)
    session.send("WebAuthn.setUserVerified", {"authenticatorId": device, "isUserVerified": False})
    page.click("[data-passkey=show] [data-passkey-ask]")
    page.locator("[data-passkey-words]", has_text="no passkey").wait_for(state="attached")
    session.send("WebAuthn.setUserVerified", {"authenticatorId": device, "isUserVerified": True})
    page.click("[data-passkey=show] [data-passkey-ask]")
    page.wait_for_url("**/passkeys")
    assert "You have none yet" in page.inner_text("main")
