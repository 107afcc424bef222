"""Ends a server without breaking anything off: whoever has come is answered, whoever comes later finds the door shut."""

from __future__ import annotations

import select
import socket
import time
from collections.abc import Iterable
from types import FrameType
from typing import Any, Final

from waitress import wasyncore
from waitress.channel import HTTPChannel

MOST_SECONDS: Final = 20.0
"""Whoever has not sent her request or taken her answer by then is cut off; what is at work has 5 seconds more."""
GRACE_SECONDS: Final = 1.0
"""How long a connection that says nothing may still begin to ask: one that has just come is about to."""
WAIT_SECONDS: Final = 0.05


class Draining:
    """Runs a waitress server until `begin` is called, by a signal, and then until everybody who has come is answered.

    A proxy that finds the port closed asks another process at once, as nothing was sent yet; a connection that was taken in
    and then dropped would look to it like a fault in the middle of a request, which it must not send twice.
    """

    def __init__(self, server: Any) -> None:
        self._server = server
        self._begun = False

    def begin(self, _signal: int = 0, _frame: FrameType | None = None) -> None:
        """Begin to end; may be called in the midst of anything."""
        self._begun = True
        self._server.pull_trigger()

    def run(self) -> None:
        """Serve, and return when it is over; Ctrl-C ends the waiting as well, and lets running requests end."""
        try:
            while not self._begun:
                self._turn(self._server.adj.asyncore_loop_timeout)
            self._stop_listening()
            until = time.monotonic() + MOST_SECONDS
            while self._server.active_channels and time.monotonic() < until:
                end_silent(tuple(self._server.active_channels.values()), since=time.time() - GRACE_SECONDS)
                self._turn(WAIT_SECONDS)
        except KeyboardInterrupt:
            pass
        self._server.task_dispatcher.shutdown()

    def _turn(self, seconds: float) -> None:
        """Wait for the network at most so long, and do what it asks for."""
        wasyncore.loop(timeout=seconds, use_poll=True, map=self._server._map, count=1)

    def _stop_listening(self) -> None:
        """Take in whoever has come already, and close the door."""
        while select.select([self._server.socket], [], [], 0)[0]:
            self._server.handle_accept()
        wasyncore.dispatcher.close(self._server)


def end_silent(channels: Iterable[HTTPChannel], *, since: float) -> None:
    """End connections over which nothing is asked, answered or begun since a time, nor has come and was not read yet.

    A machine with much else to do may read late: to end a connection whose request lies there would break that request off.
    """
    for channel in channels:
        if _is_idle(channel) and channel.last_activity < since and not _has_come(channel.socket):
            channel.will_close = True


def _is_idle(channel: HTTPChannel) -> bool:
    return not (channel.requests or channel.request or channel.total_outbufs_len)


def _has_come(plug: socket.socket) -> bool:
    poll = select.poll()
    poll.register(plug, select.POLLIN)
    return bool(poll.poll(0))
