"""People who use a hall by HTTP as a browser does: sign in, drill, send pictures, bring a catalogue in; and a line that may break."""

from __future__ import annotations

import http.client
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from tests.cast import Someone

WAIT_SECONDS = 30.0
FORM = "application/x-www-form-urlencoded"


class Away(Exception):
    """No whole answer came: the server is gone, or went while it answered."""


@dataclass(frozen=True)
class Reply:
    """A whole answer."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The answer as JSON."""
        return json.loads(self.body)

    @property
    def words(self) -> str:
        """The answer as text."""
        return self.body.decode("utf-8", "replace")


@dataclass
class Visitor:
    """One person at one device; `ports` are the servers of her hall, of which each request takes one."""

    who: Someone
    ports: Sequence[int]
    dice: Random
    cookies: dict[str, str] = field(default_factory=dict)
    token: str = ""

    def ask(self, method: str, path: str, body: bytes | None = None, *, port: int = 0, **headers: str) -> Reply:
        """Ask once, or raise Away."""
        line = http.client.HTTPConnection("127.0.0.1", port or self.dice.choice(self.ports), timeout=WAIT_SECONDS)
        said = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()), "Connection": "close"}
        said |= {name.replace("_", "-"): value for name, value in headers.items()}
        try:
            line.request(method, path, body, said)
            answer = line.getresponse()
            reply = Reply(answer.status, dict(answer.getheaders()), answer.read())
        except (OSError, http.client.HTTPException) as error:
            raise Away(type(error).__name__) from error
        finally:
            line.close()
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        return reply

    def sign_in(self) -> None:
        """Sign in by the form."""
        self.token = self.ask("GET", "/csrf").json["token"]
        told = self.post_form("/sign-in", name=self.who.name, passphrase=self.who.passphrase, stay="on")
        if told.status != 303:
            raise RuntimeError(f"{self.who.name} could not sign in: {told.status} {told.words[:300]}")
        self.token = self.ask("GET", "/csrf").json["token"]

    def post_form(self, path: str, **fields: str) -> Reply:
        """Send a form."""
        return self._post(path, urlencode(fields).encode(), Content_Type=FORM)

    def post_json(self, path: str, value: Any, *, port: int = 0) -> Reply:
        """Send JSON as a script does."""
        return self._post(path, json.dumps(value).encode(), port=port, Content_Type="application/json", Accept="application/json")

    def post_file(self, path: str, name: str, file: str, content: bytes, **fields: str) -> Reply:
        """Send a file with a form (RFC 7578)."""
        edge = f"edge-{self.dice.getrandbits(64):016x}"
        parts = [f'--{edge}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode() for key, value in fields.items()]
        parts.append(f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="{file}"\r\n\r\n'.encode() + content)
        body = b"".join(parts) + f"\r\n--{edge}--\r\n".encode()
        return self._post(path, body, Content_Type=f"multipart/form-data; boundary={edge}", Accept="application/json")

    def _post(self, path: str, body: bytes, *, port: int = 0, **headers: str) -> Reply:
        """Send with the token that the hall gave; where it no longer knows it, ask for another one, as the page's script does each time."""
        reply = self.ask("POST", path, body, port=port, X_CSRFToken=self.token, **headers)
        if reply.status == 400 and "no longer knows its form" in reply.words:
            self.token = self.ask("GET", "/csrf").json["token"]
            reply = self.ask("POST", path, body, port=port, X_CSRFToken=self.token, **headers)
        return reply

    def new_id(self) -> str:
        """Return a UUID for an answer, as the page makes them."""
        return str(UUID(int=self.dice.getrandbits(128), version=4))
