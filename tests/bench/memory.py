"""Measures what one piece of work costs in an interpreter of its own, so that nothing else of the run counts."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, Final

TOP: Final = Path(__file__).resolve().parents[2]
_STATUS: Final = Path("/proc/self/status")
_CLEAR: Final = Path("/proc/self/clear_refs")


def in_its_own_interpreter(module: str, *words: str | Path) -> dict[str, Any]:
    """Run a module of ours in a fresh interpreter and return the one JSON object that it prints last."""
    ran = subprocess.run([sys.executable, "-m", module, *map(str, words)], cwd=TOP, capture_output=True, text=True, check=False)
    if ran.returncode:
        raise RuntimeError(f"{module} {' '.join(map(str, words))} ended with {ran.returncode}:\n{ran.stderr}")
    told: dict[str, Any] = json.loads(ran.stdout.splitlines()[-1])
    return told


def peak_bytes() -> int:
    """Return the most memory that this process has held so far.

    Linux carries `ru_maxrss` over from whoever started the process, so its own file of the process is asked where there is one.
    """
    if _STATUS.is_file():
        line = next(line for line in _STATUS.read_text(encoding="ascii").splitlines() if line.startswith("VmHWM:"))
        return int(line.split()[1]) * 1024
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else most * 1024


def _forget_peak() -> None:
    """Let the peak begin anew where the system can, so that what was held and let go before hides nothing (Linux, proc(5))."""
    if _CLEAR.is_file():
        _CLEAR.write_text("5", encoding="ascii")


class Cost:
    """What a piece of work took: `with Cost() as cost: ...`, then its seconds, and how many bytes more it held at its peak."""

    seconds: float
    more_bytes: int

    def __enter__(self) -> Cost:
        _forget_peak()
        self._peak, self._began = peak_bytes(), time.perf_counter()
        return self

    def __exit__(self, *_: object) -> None:
        self.seconds = time.perf_counter() - self._began
        self.more_bytes = peak_bytes() - self._peak
