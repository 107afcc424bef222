"""A hall whose server can be stopped, and what a device holds of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread
from typing import Any

from playwright.sync_api import Page
from werkzeug.serving import BaseWSGIServer, make_server

from tests.browser.drill.steps import QUEUED, answer, begin_round, go_on, here, told
from tests.hall import Hall, Silent

KEPT = """(async () => {
  const found = {};
  for (const name of await caches.keys())
    found[name] = (await (await caches.open(name)).keys()).map(request => new URL(request.url).pathname);
  return found;
})()"""
"""What is kept on this device: names of caches, and the addresses in each."""

KNOWN = QUEUED.replace("filter(answer => !answer.handed)", "filter(() => true)")
"""How many answers this device knows of, those included that the hall has already."""

NOTES_SYNC = "window.asked = []; SyncManager.prototype.register = async tag => { window.asked.push(tag); };"
"""Notes what the browser is asked to wake the worker for; this Chromium has Background Sync, and has it turned off."""

READY = "async () => (await navigator.serviceWorker.ready).active.state === 'activated'"
ONE_SHELL = "async shell => (await caches.keys()).filter(name => name.startsWith('drillhall pages ')).join() === shell"
NO_DRILL = "async () => !(await caches.keys()).some(name => name.startsWith('drillhall drill '))"


class Server:
    """The hall's server, to be stopped and started again at the same address."""

    def __init__(self, hall: Hall) -> None:
        self._app: Any = hall.app
        self._server: BaseWSGIServer | None = None
        self.port = 0
        self.start()
        hall.address = f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Serve, each request on a connection of its own, so that none is left open when the server stops."""
        self._server = make_server("127.0.0.1", self.port, self._whole, threaded=True, request_handler=Silent)
        self.port = self._server.server_port
        Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        """Be gone: whoever asks is refused a connection."""
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._server = None

    def _whole(self, environ: Any, start_response: Any) -> list[bytes]:
        found = self._app(environ, start_response)
        try:
            return [b"".join(found)]
        finally:
            found.close()


@contextmanager
def stoppable(hall: Hall) -> Iterator[Server]:
    server = Server(hall)
    try:
        yield server
    finally:
        server.stop()


def wake_the_worker(page: Page, hall: Hall) -> None:
    """Let the browser do what it does once there is a network: wake the hall's worker to hand in (Chrome DevTools Protocol)."""
    line, found = page.context.new_cdp_session(page), []
    line.on("ServiceWorker.workerRegistrationUpdated", lambda told: found.extend(told["registrations"]))
    line.send("ServiceWorker.enable")
    for _ in range(150):
        page.wait_for_timeout(100)
        if workers := {one["registrationId"] for one in found if one["scopeURL"] == f"{hall.address}/"}:
            break
    [worker] = workers
    sync = {"origin": hall.address, "registrationId": worker, "tag": "drillhall answers", "lastChance": False}
    line.send("ServiceWorker.dispatchSyncEvent", sync)


def until(page: Page, what: str, arg: object = None) -> None:
    """Wait until an asynchronous function of the page returns true; the driver's own wait takes any promise for true."""
    for _ in range(150):
        if page.evaluate(what, arg):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"not within 15 seconds: {what}")


def open_drill(page: Page, address: str = "/drill") -> None:
    """Open the drill and wait until a question is asked."""
    page.goto(address)
    page.wait_for_selector("[data-playing]", state="attached")
    begin_round(page)


def at_hand(page: Page) -> None:
    """Wait until the drill is on the device, and something that answers for the hall."""
    page.wait_for_selector("[data-at-hand]", state="attached")
    until(page, READY)


def play_on(page: Page, pictures: int) -> list[tuple[str | None, str | None, str]]:
    """Answer so many questions and return where each stood and what was said."""
    said = []
    for _ in range(pictures):
        begin_round(page)
        place = here(page)
        said.append((*place, answer(page).partition(":")[0]))
        if told(page).locator("[data-next]").inner_text() == "How it went":
            return said
        go_on(page)
    return said


def drills_kept(page: Page) -> list[str]:
    """Return the addresses in the drill that is kept on the device."""
    return [address for name, found in page.evaluate(KEPT).items() if name.startswith("drillhall drill ") for address in found]
