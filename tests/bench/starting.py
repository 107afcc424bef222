"""How long the server of an empty hall takes to come up, beside `import flask` alone: each in an interpreter of its own, on a core.

Both read what an earlier run compiled, whatever this machine's settings say of compiling: so it is on a user's machine.
"""

from __future__ import annotations

import os
import resource
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterable, Mapping
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from urllib.request import urlopen

from tests.bench.memory import TOP
from tests.bench.rows import Measured, Row, Size, at_most

LONGEST_SECONDS = 120.0


def rows(size: Size) -> Iterable[Row]:
    """The row of this subject."""
    yield Row("starting: the server of an empty hall, beside import flask", "s", at_most(1.0), partial(_measure, size.of(7, 1)))


def _measure(times: int) -> Measured:
    with TemporaryDirectory() as folder, TemporaryDirectory() as compiled:
        env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONPYCACHEPREFIX": compiled}
        both = [(_import_flask(env), _serve_once(Path(folder), env)) for _ in range(times + 1)]
        del both[0]  # which made the hall, and compiled
    return Measured(ours=median(ours for _, ours in both), floor=median(floor for floor, _ in both))


def _import_flask(env: Mapping[str, str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-c", "import flask"], check=True, cwd=TOP, env=env)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _serve_once(folder: Path, env: Mapping[str, str]) -> float:
    """Start a server, wait until it says that it is ready, and return the seconds that it had been on a core when it said so."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "drillhall", "serve", "--data", str(folder), "--port", str(port)]
    with subprocess.Popen(command, cwd=TOP, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as server:
        try:
            _wait_for(server, port)
            ticks = Path(f"/proc/{server.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[11:13]
            return sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK")
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait()


def _wait_for(server: subprocess.Popen[bytes], port: int) -> None:
    until = time.monotonic() + LONGEST_SECONDS
    while time.monotonic() < until and server.poll() is None:
        try:
            with urlopen(f"http://127.0.0.1:{port}/health") as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.02)
    raise RuntimeError(f"the server did not come up: {server.poll()}")
