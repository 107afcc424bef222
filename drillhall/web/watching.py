"""Watches every request: gives it an id, writes one line about it, and counts it for whoever reads the metrics."""

from __future__ import annotations

import secrets
import time
from collections import Counter
from threading import Lock
from typing import Final, cast

from flask import Flask, Response, current_app, g, request

from drillhall.web.faults import REQUESTS

BUCKETS: Final = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Upper bounds in seconds between which requests are counted."""
METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})


class Meter:
    """What this process has counted since it began: requests by page, method and status, and how long they took in seconds."""

    def __init__(self) -> None:
        self.began_at = time.time()
        self.shed = 0
        self._lock = Lock()
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._buckets: Counter[float] = Counter()
        self._seconds = 0.0

    def count(self, page: str, method: str, status: int, seconds: float) -> None:
        """Count one request that was answered."""
        with self._lock:
            self._requests[page, method if method in METHODS else "other", status] += 1
            self._buckets[next((bound for bound in BUCKETS if seconds <= bound), float("inf"))] += 1
            self._seconds += seconds

    def count_shed(self) -> None:
        """Count one request that was turned away because too many wait."""
        with self._lock:
            self.shed += 1

    def requests(self) -> dict[tuple[str, str, int], int]:
        """Return counts by page, method and status."""
        with self._lock:
            return dict(self._requests)

    def seconds(self) -> tuple[tuple[tuple[float, int], ...], float]:
        """Return (bound, how many took at most that) for each bound, infinity last, and the sum of all seconds."""
        with self._lock:
            count, found = 0, []
            for bound in (*BUCKETS, float("inf")):
                count += self._buckets[bound]
                found.append((bound, count))
            return tuple(found), self._seconds


def init_app(app: Flask) -> None:
    """Watch an application; call it before anything else is hung in, so that what others refuse is watched too."""
    app.extensions["drillhall.meter"] = Meter()
    app.before_request(_begin)
    app.after_request(_end)


def meter(app: Flask | None = None) -> Meter:
    """Return what this process has counted; `app` is needed where no request is answered."""
    return cast(Meter, (app or current_app).extensions["drillhall.meter"])


def _begin() -> None:
    g.request_id = secrets.token_hex(8)
    g.began = time.perf_counter()


def _end(response: Response) -> Response:
    seconds = time.perf_counter() - g.began
    page, method = request.endpoint or "", str(request.environ["REQUEST_METHOD"])
    response.headers["X-Request-Id"] = g.request_id
    meter().count(page, method, response.status_code, seconds)
    method = method if method in METHODS else "other"
    told = {"page": page, "method": method, "status": response.status_code, "ms": round(seconds * 1000, 1)}
    REQUESTS.info("request", extra={"told": told})
    return response
