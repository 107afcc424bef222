"""The logs, one JSON object a line: faults, requests and refusals, each with the id of its request; never what was typed, never a secret.

No name is written, no network address, no address of a page (which may hold a token), but the page's own name in the program. Who was
refused something is a mark (`people/marks.py`).
"""

from __future__ import annotations

import json
import logging
import os
import sys
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path
from traceback import format_tb
from typing import Final

from flask import g, has_request_context

LOG: Final = logging.getLogger("drillhall")
REQUESTS: Final = logging.getLogger("drillhall.requests")
REFUSALS: Final = logging.getLogger("drillhall.refusals")
SHOWN: Final = 10


@dataclass(frozen=True, slots=True)
class Fault:
    """One line of the log: when, and what."""

    at: str
    what: str


class JsonLines(logging.Formatter):
    """Writes a record as one JSON object (RFC 8259): at (RFC 3339), level, event, request, and what its `told` holds."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        told: dict[str, object] = {"at": at, "level": record.levelname.lower(), "event": record.getMessage()}
        if has_request_context() and "request_id" in g:
            told["request"] = g.request_id
        return json.dumps(told | getattr(record, "told", {}), ensure_ascii=True)


class LogFile(RotatingFileHandler):
    """A log that goes on without a line it cannot write: a full disk must neither stop the hall nor flood its terminal with tracebacks.

    Several processes may write one: whichever finds it full begins another, and the rest follow it there.
    """

    _is_told = False

    def shouldRollover(self, record: logging.LogRecord) -> bool | int:  # noqa: N802 - the name is the library's
        """Whether another file is to be begun; goes on in the one that bears the name, where somebody else has begun it."""
        if self.stream and not _lies_at(self.stream, self.baseFilename):
            self.stream.close()
            self.stream = None  # opened by the next line, or, where that cannot be, with a later record
        return super().shouldRollover(record)

    def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 - the name is the library's
        """Say once that lines are missing."""
        if not self._is_told:
            sys.stderr.write(f"{self.baseFilename} cannot be written; lines are missing in it.\n")
            self._is_told = True


def _lies_at(stream: TextIOWrapper, path: str) -> bool:
    try:
        return os.path.samestat(os.fstat(stream.fileno()), os.stat(path))
    except FileNotFoundError:
        return False


def write_faults_to(path: Path) -> None:
    """Write faults to a file from now on, which is kept from growing without bound."""
    _write(LOG, path, logging.WARNING, most_bytes=500_000)


def write_requests_to(path: Path) -> None:
    """Write a line for each request to a file from now on, which is kept from growing without bound."""
    REQUESTS.propagate = False
    _write(REQUESTS, path, logging.INFO, most_bytes=5_000_000)


def write_refusals_to(path: Path) -> None:
    """Write a line for each refusal of a right or a limit to a file from now on, which is kept from growing without bound."""
    REFUSALS.propagate = False
    _write(REFUSALS, path, logging.INFO, most_bytes=2_000_000)


def _write(log: logging.Logger, path: Path, level: int, *, most_bytes: int) -> None:
    handler = LogFile(path, maxBytes=most_bytes, backupCount=2, encoding="utf-8", delay=True)
    handler.setFormatter(JsonLines())
    log.addHandler(handler)
    log.setLevel(level)


def log_fault(mark: str, where: str | None, cause: BaseException | None) -> None:
    """Write down a fault by its mark, where it was and the way to it; not its words, which may hold what was typed."""
    way = "".join(format_tb(cause.__traceback__)) if cause else ""
    LOG.error("fault %s at %s: %s", mark, where, type(cause).__name__, extra={"told": {"way": way}})


def list_faults(path: Path) -> tuple[Fault, ...]:
    """Return the last faults, the newest first; a line that is none of ours is passed over."""
    try:
        with path.open(encoding="utf-8", errors="replace") as lines:
            found = deque(_faults(lines), maxlen=SHOWN)
    except OSError:
        return ()
    return tuple(reversed(found))


def _faults(lines: Iterable[str]) -> Iterator[Fault]:
    for line in lines:
        try:
            told = json.loads(line)
            yield Fault(str(told["at"]), str(told["event"]))
        except (ValueError, KeyError, TypeError):
            continue
