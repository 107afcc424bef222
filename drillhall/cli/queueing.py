"""Tells how long a request has waited until a thread took it up."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

from waitress.task import ThreadedTaskDispatcher


class TimedQueue(ThreadedTaskDispatcher):  # type: ignore[misc]  # waitress tells no types
    """Waitress's own queue of requests, which remembers since when each waits; `clock` tells seconds."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._clock = clock
        self._here = threading.local()

    def add_task(self, task: Any) -> None:
        """Put what has come into the queue."""
        super().add_task(_Timed(task, self._clock(), self._take_up))

    @property
    def waiting(self) -> int:
        """How many requests have come and no thread has taken up yet."""
        return len(self.queue)

    @property
    def waited(self) -> float:
        """How many seconds the request waited that this thread is at; 0 where it is at none."""
        return float(getattr(self._here, "waited", 0.0))

    def _take_up(self, since: float) -> None:
        self._here.waited = self._clock() - since


class _Timed:
    """A connection of waitress with a request to answer, which came at a time."""

    def __init__(self, task: Any, since: float, take_up: Callable[[float], None]) -> None:
        self._task, self._since, self._take_up = task, since, take_up

    def service(self) -> None:
        self._take_up(self._since)
        self._task.service()

    def cancel(self) -> None:
        self._task.cancel()
