"""How long a request has waited is told to the thread that is at it."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest

from drillhall.cli.queueing import TimedQueue


class Task:
    """Notes what it is told when it is taken up, or that it never was."""

    def __init__(self, queue: TimedQueue) -> None:
        self._queue = queue
        self.waited = -1.0
        self.is_cancelled = False
        self.over = threading.Event()

    def service(self) -> None:
        self.waited = self._queue.waited
        self.over.set()

    def cancel(self) -> None:
        self.is_cancelled = True


@pytest.fixture
def times() -> list[float]:
    """What the clock says, one time after another."""
    return []


@pytest.fixture
def queue(times: list[float]) -> Iterator[TimedQueue]:
    queue = TimedQueue(clock=lambda: times.pop(0))
    yield queue
    queue.shutdown()


def test_each_is_told_how_long_it_waited(queue: TimedQueue, times: list[float]) -> None:
    tasks = [Task(queue), Task(queue)]
    times += [10.0, 11.0, 14.5, 15.0]
    for task in tasks:
        queue.add_task(task)
    assert queue.waiting == 2
    queue.set_thread_count(1)
    assert all(task.over.wait(10) for task in tasks)
    assert [task.waited for task in tasks] == [4.5, 4.0]
    assert queue.waiting == 0


def test_whoever_is_at_no_request_has_not_waited(queue: TimedQueue) -> None:
    assert queue.waited == 0.0


def test_what_was_never_taken_up_is_called_off(queue: TimedQueue, times: list[float]) -> None:
    task = Task(queue)
    times.append(1.0)
    queue.add_task(task)
    queue.shutdown()
    assert (task.is_cancelled, task.waited) == (True, -1.0)
