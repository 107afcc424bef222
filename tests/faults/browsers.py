"""People who come from outside: over https, through the proxy, each from an address of her own, on a connection that stays open."""

from __future__ import annotations

import http.client
import socket
import ssl
from dataclasses import dataclass, field
from typing import Any, Final

from tests.faults.proxying import NAME, Proxy
from tests.faults.visitors import WAIT_SECONDS, Away, Reply, Visitor

CLOSED: Final = (http.client.RemoteDisconnected, ssl.SSLEOFError, BrokenPipeError)
"""What a connection says that the other side has closed for want of use: nothing came back, or a body could not be sent any more."""


class Line(http.client.HTTPSConnection):
    """A connection to the proxy's port that asks for the hall by its public name."""

    def __init__(self, proxy: Proxy, place: str) -> None:
        super().__init__(NAME, timeout=WAIT_SECONDS, context=proxy.trust)
        self._port, self._place, self._trust = proxy.https, place, proxy.trust

    def connect(self) -> None:
        """Connect, and check the certificate."""
        bare = socket.create_connection(("127.0.0.1", self._port), WAIT_SECONDS, (self._place, 0))
        self.sock = self._trust.wrap_socket(bare, server_hostname=NAME)


@dataclass
class Browser(Visitor):
    """One person at one device, at an address of her own (of 127.0.0.0/8)."""

    proxy: Proxy | None = None
    place: str = "127.0.0.1"
    line: Line | None = field(default=None, repr=False)

    def ask(self, method: str, path: str, body: bytes | None = None, *, port: int = 0, **headers: str) -> Reply:
        """Ask once, or raise Away; a connection that was closed while nothing was asked is made anew, as browsers do."""
        assert self.proxy is not None
        said = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()), "Referer": f"https://{NAME}/"}
        said |= {name.replace("_", "-"): value for name, value in headers.items()}
        is_old, line = self.line is not None, self.line or Line(self.proxy, self.place)
        try:
            reply = self._asked(line, method, path, body, said)
        except (OSError, http.client.HTTPException) as error:
            line.close()
            self.line = None
            if is_old and isinstance(error, CLOSED):
                return self.ask(method, path, body, port=port, **headers)
            raise Away(type(error).__name__) from error
        self.line = line
        return reply

    def close(self) -> None:
        """Go."""
        if self.line:
            self.line.close()

    def _asked(self, line: Line, method: str, path: str, body: bytes | None, said: dict[str, str]) -> Reply:
        line.request(method, path, body, said)
        answer: Any = line.getresponse()
        reply = Reply(answer.status, dict(answer.getheaders()), answer.read())
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        return reply
