"""Turns requests away while too many wait, so that those who are let in are answered in time and the rest know when to come back."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Protocol

from drillhall.web import assets
from drillhall.words import say
from drillhall.words.locales import direction
from drillhall.words.speaking import ENGLISH, known_language

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

RETRY_SECONDS: Final = 3
TITLE: Final = say("The hall is busy just now")
WORDS: Final = say("Nothing is lost: what is on this device is kept. Try once more in {n} seconds.", n=RETRY_SECONDS)
ONCE_MORE: Final = say("Try once more")
# A sheet would be one request more to a hall that has too many; paper and ink are those of the tokens.
PAGE: Final = """<!doctype html>
<html lang="{language}" dir="{direction}"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark"><title>{title} - drillhall</title><style>
html {{ background: {paper.light}; color: {ink.light}; font: 1em/1.45 system-ui, sans-serif }}
@media (prefers-color-scheme: dark) {{ html {{ background: {paper.dark}; color: {ink.dark} }} }}
main {{ max-width: 36em; margin: 8vh auto; padding: 0 1em }} h1 {{ font: bold 1.5em/1.2 Georgia, serif }}
a {{ display: inline-block; padding: .75em 0; color: inherit }}
</style><main><h1>{title}</h1><p>{words}</p><p><a href="">{once_more}</a></p></main></html>
"""


class Queue(Protocol):
    """Where requests wait until they are taken up."""

    @property
    def waiting(self) -> int:
        """How many wait."""

    @property
    def waited(self) -> float:
        """How many seconds the one waited that has just been taken up."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """When a request is turned away: more than `most` wait; or it has waited longer than `seconds` and still more than `few` wait.

    Where few are left a long wait is over, as after one slow answer; to answer them all is the quickest way to be as before.
    """

    most: int
    seconds: float
    few: int

    def are_passed(self, queue: Queue) -> bool:
        """Whether whoever is taken up now is turned away."""
        return queue.waiting > self.most or (queue.waited > self.seconds and queue.waiting > self.few)


class Shed:
    """Answers 503 with Retry-After (RFC 9110, sections 15.6.4 and 10.2.3) while too many wait, or wait too long.

    tell : is called for each request that is turned away.
    """

    def __init__(self, app: WSGIApplication, queue: Queue, bounds: Bounds, *, tell: Callable[[], None]) -> None:
        self._app = app
        self._queue = queue
        self._tell = tell
        self._bounds = bounds

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request; whether the hall is up is told in any case."""
        if environ.get("PATH_INFO") == "/health" or not self._bounds.are_passed(self._queue):
            return self._app(environ, start_response)
        self._tell()
        is_page = "text/html" in environ.get("HTTP_ACCEPT", "")
        body = _busy(known_language(environ.get("HTTP_ACCEPT_LANGUAGE", "").partition(",")[0].strip()) or ENGLISH, is_page=is_page)
        headers = [
            ("Content-Type", f"text/{'html' if is_page else 'plain'}; charset=utf-8"),
            ("Content-Length", str(len(body))),
            ("Retry-After", str(RETRY_SECONDS)),
            ("Cache-Control", "no-store"),
            ("X-Content-Type-Options", "nosniff"),
        ]
        start_response("503 Service Unavailable", headers)
        return [body]


def _busy(language: str, *, is_page: bool) -> bytes:
    """Return what is said to whoever is turned away, in the language that her browser asks for first."""
    title, words, once_more = (said.told(language) for said in (TITLE, WORDS, ONCE_MORE))
    if not is_page:
        return f"{title}. {words}\n".encode()
    shades = {name: assets.shade(name) for name in ("paper", "ink")}
    return PAGE.format(language=language, direction=direction(language), title=title, words=words, once_more=once_more, **shades).encode()
