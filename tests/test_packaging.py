"""The wheel carries all it needs: built by way of the source archive, installed alone, it serves pages from anywhere."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent
CARRIED = ("templates", "static", "demo_cards")
START_SECONDS = 30


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel made from the source archive: what .gitignore names would be missing from it."""
    folder = tmp_path_factory.mktemp("dist")
    _run(sys.executable, "-m", "build", "--no-isolation", "--outdir", folder, TOP)
    (wheel,) = folder.glob("*.whl")
    return wheel


@pytest.fixture(scope="module")
def drillhall(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The program installed with its own dependencies and nothing else, as a stranger would."""
    folder = tmp_path_factory.mktemp("alone") / "venv"
    _run(sys.executable, "-m", "venv", folder)
    _run(folder / "bin" / "pip", "install", "--quiet", wheel)
    return folder / "bin" / "drillhall"


def _run(*command: str | Path) -> None:
    told = subprocess.run(command, capture_output=True, text=True, check=False, env=_plain_environment())
    assert told.returncode == 0, told.stdout + told.stderr


def _plain_environment() -> dict[str, str]:
    """Leave out what could let the installed program find the checkout or another hall."""
    return {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "DRILLHALL"))}


@pytest.mark.parametrize("folder", CARRIED)
def test_the_wheel_carries_every_file(wheel: Path, folder: str) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    wanted = {f"drillhall/{file.relative_to(TOP).as_posix()}" for file in (TOP / folder).rglob("*") if file.is_file()}
    assert wanted, f"{folder} is empty"
    assert wanted - inside == set()


def test_the_wheel_carries_a_demo_set_that_can_be_imported(wheel: Path) -> None:
    inside = zipfile.ZipFile(wheel).namelist()
    assert [name for name in inside if name.startswith("drillhall/demo_cards/") and name.endswith("/catalogue.toml")]


def test_the_wheel_carries_the_migrations_and_no_tests(wheel: Path) -> None:
    inside = zipfile.ZipFile(wheel).namelist()
    assert any(name.startswith("drillhall/store/migrations/versions/") for name in inside)
    assert [name for name in inside if name.startswith("tests")] == []


def test_the_installed_program_serves_a_page_and_a_style_sheet_from_anywhere(drillhall: Path, tmp_path: Path) -> None:
    with _serving(drillhall, tmp_path / "hall") as address:
        page = urllib.request.urlopen(f"{address}/", timeout=10)
        found = re.search(r'href="(/static/[0-9a-f]{12}/css/)tokens~', page.read().decode())
        assert found
        sheet = urllib.request.urlopen(f"{address}{found[1]}tokens.css", timeout=10)
        assert page.status == sheet.status == 200
        assert sheet.headers["Content-Type"].startswith("text/css")
        assert sheet.read() == (TOP / "static/css/tokens.css").read_bytes()
    assert (tmp_path / "hall").is_dir()


def test_the_installed_program_refuses_a_port_in_use(drillhall: Path, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        command = [drillhall, "serve", "--data", tmp_path / "hall", "--port", port]
        told = subprocess.run(
            command, cwd="/", capture_output=True, text=True, check=False, timeout=START_SECONDS, env=_plain_environment()
        )
    assert told.returncode != 0
    assert "Traceback" not in told.stderr
    assert port in told.stderr


@contextmanager
def _serving(drillhall: Path, data: Path) -> Iterator[str]:
    """Start the program from the root folder, where no checkout can help it; stop it as a keeper's system would."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    log = data.with_suffix(".log")
    with log.open("w") as out:
        command = [drillhall, "serve", "--data", data, "--port", str(port)]
        server = subprocess.Popen(command, cwd="/", stdout=out, stderr=out, env=_plain_environment())
        try:
            _wait_for(server, port, log)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.send_signal(signal.SIGTERM)
            stopped = server.wait(timeout=START_SECONDS)
    assert stopped == 0, log.read_text(encoding="utf-8")


def _wait_for(server: subprocess.Popen[bytes], port: int, log: Path) -> None:
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until:
        if server.poll() is not None:
            break
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    pytest.fail(f"the hall did not open: {log.read_text(encoding='utf-8')}")
