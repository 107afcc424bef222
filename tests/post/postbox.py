"""Real mail servers for tests: one that takes letters, and those that refuse, hang, dribble or go away in the middle."""

from __future__ import annotations

import socket
import threading
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

from drillhall.post.office import Office
from drillhall.post.sending import MailServer

with warnings.catch_warnings():  # it warns of its own future on import
    warnings.simplefilter("ignore")
    from aiosmtpd.controller import Controller

HALL = "https://hall.example"
KEY = "k" * 64


class Postbox:
    """What a mail server does with what it is given: `replies` are given out first, then it takes all."""

    def __init__(self) -> None:
        self.raw: list[bytes] = []
        self.to: list[list[str]] = []
        self.rcpt_replies: list[str] = []
        self.data_replies: list[str] = []

    @property
    def letters(self) -> list[EmailMessage]:
        return [message_from_bytes(raw, policy=default) for raw in self.raw]  # type: ignore[misc]  # the policy makes them so

    async def handle_RCPT(self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any) -> str:
        if self.rcpt_replies:
            return self.rcpt_replies.pop(0)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:
        if self.data_replies:
            return self.data_replies.pop(0)
        self.raw.append(envelope.content)
        self.to.append(list(envelope.rcpt_tos))
        return "250 OK"


@contextmanager
def taking() -> Iterator[tuple[Postbox, MailServer]]:
    """A real SMTP server on this machine that takes what it is given."""
    box = Postbox()
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    controller = Controller(box, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield box, MailServer("127.0.0.1", port, "none")
    finally:
        controller.stop()


@contextmanager
def answering(talk: Callable[[socket.socket], object], **how: float) -> Iterator[MailServer]:
    """A server that talks as a function says, to one caller after the other."""
    plug = socket.create_server(("127.0.0.1", 0))
    plug.settimeout(10)
    lines: list[socket.socket] = []

    def serve() -> None:
        while True:
            try:
                line, _ = plug.accept()
            except OSError:
                return
            lines.append(line)
            threading.Thread(target=_quietly, args=(talk, line), daemon=True).start()

    threading.Thread(target=serve, daemon=True).start()
    try:
        yield MailServer("127.0.0.1", plug.getsockname()[1], "none", **how)  # type: ignore[arg-type]  # seconds alone
    finally:
        plug.close()
        for line in lines:
            line.close()


def _quietly(talk: Callable[[socket.socket], object], line: socket.socket) -> None:
    try:
        talk(line)
    except OSError:  # the caller has hung up
        return


def office(server: MailServer) -> Office:
    return Office(server, "The hall <hall@hall.example>", HALL, KEY)
