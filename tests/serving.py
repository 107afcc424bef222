"""How the hall of a test sends its answers: whole and at once, or late and in two parts, to find tests that count on a quick machine."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from time import sleep
from typing import Any

from flask import Flask

PAUSE = "DRILLHALL_TEST_PAUSE"
"""Seconds that every answer waits before it is worked out, and again once it has begun; none where it is not set."""

BEGINNING = 64
"""Bytes of an answer that come at once, which is nothing of a page's body."""


def read_whole(app: Flask) -> Callable[[Any, Any], Iterable[bytes]]:
    """Read each answer whole and close it before it is sent: Werkzeug leaves a file open when the browser goes away half-way."""
    pause = float(os.environ.get(PAUSE, "0"))

    def serve(environ: Any, start_response: Any) -> Iterable[bytes]:
        sleep(pause)
        answer = app(environ, start_response)
        try:
            whole = b"".join(answer)
        finally:
            if hasattr(answer, "close"):
                answer.close()
        return _begun(whole, pause) if pause else [whole]

    return serve


def _begun(whole: bytes, pause: float) -> Iterator[bytes]:
    """Let a page be begun and not yet there: what is read off it then was read too soon."""
    yield whole[:BEGINNING]
    sleep(pause)
    yield whole[BEGINNING:]
