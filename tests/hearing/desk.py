"""A desk of its own for a screen reader: a screen that nobody sees, a message bus, a headed Chromium, the reader, and keys."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from playwright.sync_api import BrowserContext, sync_playwright

from tests.hearing.voice import QUIET, Said, Voice, speaking

TOOLS: Final = ("Xvfb", "dbus-daemon", "dbus-send", "orca", "xdotool")
FLAGS: Final = (
    *("--no-sandbox", "--test-type", "--disable-gpu", "--no-first-run", "--kiosk"),
    *("--disable-background-networking", "--disable-component-update", "--force-renderer-accessibility"),
)
ENABLED: Final = (
    *("dbus-send", "--session", "--dest=org.a11y.Bus", "--print-reply", "/org/a11y/bus", "org.freedesktop.DBus.Properties.Set"),
    *("string:org.a11y.Status", "string:IsEnabled", "variant:boolean:true"),
)
KEYS: Final = frozenset({"tab", "return", "shift", "left shift", "left control"})
"""What the reader says of the keys themselves."""


@dataclass
class Desk:
    """What is heard, and the keys."""

    voice: Voice
    context: BrowserContext
    environment: dict[str, str]

    def press(self, *keys: str) -> None:
        """Press keys as a hand does, so that the reader sees them too."""
        subprocess.run(["xdotool", "key", *keys], env=self.environment, check=True)

    def hear(self, most: float = 20, quiet: float = QUIET) -> list[Said]:
        """Return what was said since this was last asked, without the names of keys."""
        return [one for one in self.voice.hear(most, quiet) if one.words.lower() not in KEYS and len(one.words) > 1]


def missing() -> list[str]:
    """Return which of the tools this machine lacks."""
    lacks = [tool for tool in TOOLS if shutil.which(tool) is None]
    return lacks if _chromium() else [*lacks, "chromium"]


def _chromium() -> str | None:
    return os.environ.get("DRILLHALL_CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")


@contextmanager
def a_desk(folder: Path, address: str) -> Iterator[Desk]:
    """Set everything up in a folder of its own, and end it all on leaving."""
    runs = folder / "run"
    runs.mkdir(mode=0o700)
    places = {name: str(folder / name.lower()) for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME")}
    environment = {**os.environ, **places, "HOME": str(folder), "XDG_RUNTIME_DIR": str(runs), "LANG": "C.UTF-8"}
    with ExitStack() as opened:
        screen = opened.enter_context(_started(["Xvfb", "-displayfd", "1", "-screen", "0", "1280x900x24", "-nolisten", "tcp"], environment))
        environment["DISPLAY"] = f":{_first_line(screen)}"
        bus = opened.enter_context(_started(["dbus-daemon", "--session", "--print-address", "--nofork", "--nosyslog"], environment))
        environment["DBUS_SESSION_BUS_ADDRESS"] = _first_line(bus)
        voice = opened.enter_context(speaking(runs / "voice"))
        environment["SPEECHD_ADDRESS"] = f"unix_socket:{runs / 'voice'}"
        subprocess.run(ENABLED, env=environment, check=True, capture_output=True)
        context = opened.enter_context(_browser(folder / "browser", address, environment))
        opened.enter_context(_started(["orca"], environment))
        if not voice.begins():
            sys.exit("The screen reader says nothing, not even that it is on.")
        window = ["xdotool", "search", "--sync", "--onlyvisible", "--class", "chrom", "windowfocus"]
        subprocess.run(window, env=environment, check=True, capture_output=True)
        voice.hear()
        yield Desk(voice, context, environment)


@contextmanager
def _browser(profile: Path, address: str, environment: dict[str, str]) -> Iterator[BrowserContext]:
    with sync_playwright() as playwright:
        launch = playwright.chromium.launch_persistent_context
        options = {"headless": False, "no_viewport": True, "executable_path": _chromium(), "args": [*FLAGS]}
        context = launch(str(profile), env=dict(environment), base_url=address, **options)
        try:
            yield context
        finally:
            context.close()


@contextmanager
def _started(command: list[str], environment: dict[str, str]) -> Iterator[subprocess.Popen[str]]:
    quietly = subprocess.DEVNULL
    with subprocess.Popen(command, env=environment, stdin=quietly, stdout=subprocess.PIPE, stderr=quietly, text=True) as process:
        try:
            yield process
        finally:
            process.terminate()
            try:
                process.wait(5)
            except subprocess.TimeoutExpired:
                process.kill()


def _first_line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()
