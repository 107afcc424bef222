"""Sends words compressed to whoever takes them so: pages, scripts, style sheets and JSON; pictures are compressed already."""

from __future__ import annotations

import gzip
from typing import Final

from flask import Flask, Response, request

LEAST_BYTES: Final = 600
LEVEL: Final = 6
WORDS: Final = frozenset(
    {"text/html", "text/css", "text/javascript", "application/javascript", "application/json", "application/manifest+json", "image/svg+xml"}
)


def init_app(app: Flask) -> None:
    """Compress what leaves the hall.

    Secrets next to words that a stranger chose may be guessed from the length of what is compressed together (BREACH, 2013).
    The one secret in our pages is a form's token, whose seal is another in every second, so that there is nothing to guess at.
    """
    app.after_request(_compressed)


def _compressed(response: Response) -> Response:
    if response.mimetype not in WORDS:
        return response
    response.vary.add("Accept-Encoding")
    if response.status_code == 304 or "Content-Encoding" in response.headers or "Content-Range" in response.headers:
        return response
    if not request.accept_encodings["gzip"]:
        return response
    response.direct_passthrough = False
    content = response.get_data()
    if len(content) < LEAST_BYTES:
        return response
    response.set_data(gzip.compress(content, LEVEL, mtime=0))
    response.headers["Content-Encoding"] = "gzip"
    tag, _ = response.get_etag()
    if tag:
        # Both forms say the same and are not the same bytes (RFC 9110, section 8.8.1).
        response.set_etag(tag, weak=True)
    return response
