"""A server that is told to end: who has come is answered, who comes later finds the door shut, who says nothing is let go."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from types import SimpleNamespace

import pytest
from waitress import create_server, wasyncore
from werkzeug.wrappers import Request, Response

from drillhall.cli import draining
from drillhall.cli.draining import Draining

LARGE = 8_000_000
"""More than the buffers of two sockets hold."""


@Request.application
def answers(request: Request) -> Response:
    if request.path == "/large":
        return Response(b"x" * LARGE)
    if request.path == "/slow":
        time.sleep(0.3)
    return Response(f"{len(request.get_data())}")


@dataclass
class Served:
    """A server in a thread of its own."""

    port: int
    drain: Draining
    thread: threading.Thread

    def connect(self, sent: bytes = b"") -> socket.socket:
        line = socket.create_connection(("127.0.0.1", self.port), timeout=5)
        line.sendall(sent)
        return line


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    monkeypatch.setattr(draining, "GRACE_SECONDS", 0.1)
    server = create_server(answers, host="127.0.0.1", port=0, threads=1, asyncore_use_poll=True)
    drain = Draining(server)
    thread = threading.Thread(target=drain.run)
    thread.start()
    yield Served(int(server.effective_port), drain, thread)
    drain.begin()
    thread.join(timeout=10)
    assert not thread.is_alive()
    wasyncore.close_all(server._map)


def rest_of(line: socket.socket) -> bytes:
    with line:
        return b"".join(iter(lambda: line.recv(65536), b""))


def head(path: str, *more: str) -> bytes:
    return "\r\n".join((f"GET {path} HTTP/1.0", *more, "", "")).encode()


def test_whoever_has_come_is_answered_whole(served: Served) -> None:
    large = served.connect(head("/large"))
    half = served.connect(b"POST / HTTP/1.0\r\nContent-Length: 10\r\n\r\n12345")
    at_work, waits = served.connect(head("/slow")), served.connect(head("/"))
    silent = served.connect()
    time.sleep(0.2)
    served.drain.begin()
    half.sendall(b"67890")
    assert rest_of(at_work).endswith(b"\r\n\r\n0")
    assert rest_of(waits).endswith(b"\r\n\r\n0"), "one that waited behind it"
    assert rest_of(half).endswith(b"\r\n\r\n10"), "one that had sent half of what it sends"
    assert len(rest_of(large)) > LARGE, "one that takes its answer slowly"
    assert rest_of(silent) == b"", "one that says nothing is let go"


def test_whoever_comes_later_finds_the_door_shut(served: Served) -> None:
    half = served.connect(b"POST / HTTP/1.0\r\nContent-Length: 10\r\n\r\n12345")
    time.sleep(0.1)
    served.drain.begin()
    time.sleep(0.2)
    with pytest.raises(ConnectionRefusedError):
        served.connect()
    half.sendall(b"67890")
    assert rest_of(half).endswith(b"\r\n\r\n10")


def test_whoever_never_ends_is_cut_off(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(draining, "MOST_SECONDS", 0.2)
    half = served.connect(b"POST / HTTP/1.0\r\nContent-Length: 10\r\n\r\n12345")
    time.sleep(0.1)
    began = time.monotonic()
    served.drain.begin()
    served.thread.join(timeout=5)
    assert not served.thread.is_alive()
    assert time.monotonic() - began >= 0.2
    half.close()


@pytest.mark.parametrize(
    ("sent", "about", "ends"),
    [
        (b"", {}, True),
        (b"GET / HTTP/1.1\r\n", {}, False),  # it lies there, and nobody has had time to read it
        (b"", {"last_activity": 11.0}, False),
        (b"", {"requests": ["one"]}, False),
        (b"", {"request": "begun"}, False),
        (b"", {"total_outbufs_len": 3}, False),
    ],
)
def test_only_what_is_silent_and_has_been_for_long_is_ended(sent: bytes, about: dict[str, object], ends: bool) -> None:
    here, there = socket.socketpair()
    with here, there:
        there.sendall(sent)
        idle = {"requests": [], "request": None, "total_outbufs_len": 0, "last_activity": 9.0, "will_close": False, "socket": here}
        channel = SimpleNamespace(**idle | about)
        draining.end_silent([channel], since=10.0)  # type: ignore[list-item]  # as much of a connection as is looked at
        assert channel.will_close is ends
