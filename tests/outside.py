"""Nothing leaves the machine while a test runs: a connection beyond loopback, or mail by a server not the test's own, fails it."""

from __future__ import annotations

import ipaddress
import smtplib
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

USUAL = (0, 25, 465, 587, 2525)
"""The ports at which a machine may have a mail server in earnest; a test that needs one opens its own at another."""


class Refused(OSError):
    """What the code under test gets instead of a connection."""


def is_here(host: Any) -> bool:
    """Say whether a host name or address is this machine."""
    if host in (None, "", b"", "localhost", b"localhost"):
        return True
    try:
        return ipaddress.ip_address(host.decode() if isinstance(host, bytes) else host).is_loopback
    except ValueError:
        return False


@contextmanager
def nothing_leaves() -> Iterator[None]:
    """Refuse what would leave, and fail at the end even where the code swallowed the refusal."""
    attempts: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        _watch_sockets(patch, attempts)
        _watch_mail(patch, attempts)
        yield
    if attempts:
        pytest.fail("the test tried to leave this machine: " + "; ".join(attempts), pytrace=False)


def _refuse(attempts: list[str], what: str) -> None:
    attempts.append(what)
    raise Refused(f"tests stay on this machine: {what}")


def _watch_sockets(patch: pytest.MonkeyPatch, attempts: list[str]) -> None:
    look_up = socket.getaddrinfo

    def getaddrinfo(host: Any, *rest: Any, **named: Any) -> Any:
        if not is_here(host):
            _refuse(attempts, f"look-up of {host}")
        return look_up(host, *rest, **named)

    patch.setattr(socket, "getaddrinfo", getaddrinfo)
    for name in ("connect", "connect_ex"):
        patch.setattr(socket.socket, name, _only_here(getattr(socket.socket, name), attempts))


def _only_here(connect: Any, attempts: list[str]) -> Any:
    def connect_here(self: socket.socket, address: Any) -> Any:
        if self.family in (socket.AF_INET, socket.AF_INET6) and not is_here(address[0]):
            _refuse(attempts, f"connection to {address[0]}")
        return connect(self, address)

    return connect_here


def _watch_mail(patch: pytest.MonkeyPatch, attempts: list[str]) -> None:
    connect_anywhere: Any = smtplib.SMTP.connect

    def connect(self: smtplib.SMTP, host: str = "localhost", port: int = 0, *rest: Any, **named: Any) -> Any:
        if not is_here(host) or port in USUAL:
            _refuse(attempts, f"mail by {host}:{port}")
        return connect_anywhere(self, host, port, *rest, **named)

    patch.setattr(smtplib.SMTP, "connect", connect)
