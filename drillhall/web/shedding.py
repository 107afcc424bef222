"""Turns requests away while too many wait, so that those who are let in are answered in time and the rest know when to come back."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

RETRY_SECONDS: Final = 3
WORDS: Final = b"The hall is busy just now. Nothing is lost: what is on this device is kept. Try again in a moment.\n"


class Shed:
    """Answers 503 with Retry-After (RFC 9110, sections 15.6.4 and 10.2.3) while more than `most` requests wait.

    waiting : returns how many requests have come and no worker has taken up yet.
    tell : is called for each request that is turned away.
    """

    def __init__(self, app: WSGIApplication, *, most: int, waiting: Callable[[], int], tell: Callable[[], None]) -> None:
        self._app = app
        self._most = most
        self._waiting = waiting
        self._tell = tell

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request; whether the hall is up is told in any case."""
        if self._waiting() <= self._most or environ.get("PATH_INFO") == "/health":
            return self._app(environ, start_response)
        self._tell()
        headers = [
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Length", str(len(WORDS))),
            ("Retry-After", str(RETRY_SECONDS)),
            ("Cache-Control", "no-store"),
            ("X-Content-Type-Options", "nosniff"),
        ]
        start_response("503 Service Unavailable", headers)
        return [WORDS]
