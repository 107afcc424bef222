"""The log of faults: written where the hall's data lies, read by the keeper; never what was typed, never a secret."""

from __future__ import annotations

import logging
import re
from collections import deque
from dataclasses import dataclass
from logging.handlers import RotatingFileHandler
from pathlib import Path
from traceback import format_tb
from typing import Final

LOG: Final = logging.getLogger("drillhall")
SHOWN: Final = 10

_LINE = re.compile(r"^(\S+T\S+) (ERROR|WARNING) (.*)$")


@dataclass(frozen=True, slots=True)
class Fault:
    """One line of the log: when, and what."""

    at: str
    what: str


def write_faults_to(path: Path) -> None:
    """Write faults to a file from now on, which is kept from growing without bound."""
    handler = RotatingFileHandler(path, maxBytes=500_000, backupCount=2, encoding="utf-8", delay=True)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S%z"))
    LOG.addHandler(handler)
    LOG.setLevel(logging.WARNING)


def log_fault(mark: str, where: str | None, cause: BaseException | None) -> None:
    """Write down a fault by its mark, where it was and the way to it; not its words, which may hold what was typed."""
    way = "".join(format_tb(cause.__traceback__)) if cause else ""
    LOG.error("fault %s at %s: %s\n%s", mark, where, type(cause).__name__, way)


def list_faults(path: Path) -> tuple[Fault, ...]:
    """Return the last faults, the newest first."""
    try:
        with path.open(encoding="utf-8", errors="replace") as lines:
            found = deque((match for match in map(_LINE.match, lines) if match), maxlen=SHOWN)
    except OSError:
        return ()
    return tuple(Fault(match[1], match[3]) for match in reversed(found))
