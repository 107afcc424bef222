"""A request on the way to being sent: what it is made of can be spoilt piece by piece, and becomes the bytes of HTTP at the end."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from io import BytesIO
from typing import Any, Final
from urllib.parse import quote_from_bytes, unquote_to_bytes

EDGE: Final = "edge-of-the-mud-7f3a"
URLENCODED: Final = "application/x-www-form-urlencoded"
SAFE: Final = "/~:@!$&'()*+,;=-._"
Text = str | bytes


@dataclass
class Draft:
    """A request: `path` is quoted; `fields` and `asked` are pairs; `files` are (field, file's name, kind, content).

    `tree` is sent as JSON where it is set; `raw` is sent as it is; `broken_at` is the share of the body that arrives.
    """

    who: str
    method: str
    path: str
    endpoint: str = ""
    asked: list[tuple[Text, Text]] = field(default_factory=list)
    fields: list[tuple[Text, Text]] = field(default_factory=list)
    files: list[tuple[Text, Text, str, bytes]] = field(default_factory=list)
    has_files: bool = False
    tree: Any = ...
    raw: bytes | None = None
    kind: str | None = None
    headers: dict[str, str] = field(default_factory=dict)
    cookies: dict[str, str] = field(default_factory=dict)
    broken_at: float | None = None


@dataclass(frozen=True)
class Sent:
    """The bytes of a request, as a server hands them to the program (PEP 3333)."""

    method: str
    path: str
    query: str
    headers: Mapping[str, str]
    body: bytes

    def environ(self) -> dict[str, Any]:
        """Return the environment of WSGI."""
        told = {
            "REQUEST_METHOD": self.method,
            "SCRIPT_NAME": "",
            "PATH_INFO": unquote_to_bytes(self.path).decode("latin-1"),
            "QUERY_STRING": self.query,
            "REQUEST_URI": self.path,
            "SERVER_NAME": "127.0.0.1",
            "SERVER_PORT": "80",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "REMOTE_ADDR": "127.0.0.1",
            "wsgi.version": (1, 0),
            "wsgi.url_scheme": "http",
            "wsgi.input": BytesIO(self.body),
            "wsgi.input_terminated": True,
            "wsgi.errors": BytesIO(),
            "wsgi.multithread": False,
            "wsgi.multiprocess": False,
            "wsgi.run_once": False,
        }
        names = {name: name.upper().replace("-", "_") for name in self.headers}
        own = ("CONTENT_TYPE", "CONTENT_LENGTH")
        return told | {(name if name in own else f"HTTP_{name}"): self.headers[header] for header, name in names.items()}

    def told(self) -> str:
        """Return the request in a line, so that it can be sent again by hand; long pieces are cut in their middle."""
        headers = {name: _cut(repr(value)) for name, value in self.headers.items() if name not in {"Cookie", "X-CSRFToken", "Host"}}
        return f"{self.method} {_cut(self.path)}{'?' if self.query else ''}{_cut(self.query)} {headers} {_cut(repr(self.body), 900)}"


def _cut(words: str, most: int = 300) -> str:
    return words if len(words) <= most else f"{words[: most // 2]}…({len(words)})…{words[-most // 2 :]}"


def send(draft: Draft, cookies: Mapping[str, str], token: str) -> Sent:
    """Turn a draft into bytes, with cookies and a form token unless it has its own."""
    kind, body = _body(draft)
    if draft.broken_at is not None:
        body = body[: int(len(body) * draft.broken_at)]
    jar = "; ".join(f"{name}={value}" for name, value in (cookies | draft.cookies).items())
    headers = {"Host": "localhost", "Cookie": jar, "Referer": "http://localhost/"}
    if draft.method not in {"GET", "HEAD"} or body:
        headers |= {"X-CSRFToken": token, "Content-Type": kind if draft.kind is None else draft.kind, "Content-Length": str(len(body))}
    return Sent(draft.method, draft.path, _encoded(draft.asked), headers | draft.headers, body)


def _body(draft: Draft) -> tuple[str, bytes]:
    if draft.raw is not None:
        return URLENCODED, draft.raw
    if draft.tree is not ...:
        return "application/json", json.dumps(draft.tree).encode()
    if draft.has_files or draft.files:
        return f"multipart/form-data; boundary={EDGE}", _multipart(draft)
    if draft.method in {"GET", "HEAD"}:
        return "", b""
    return URLENCODED, _encoded(draft.fields).encode()


def _encoded(pairs: list[tuple[Text, Text]]) -> str:
    return "&".join(f"{_percent(name)}={_percent(value)}" for name, value in pairs)


@lru_cache(64)
def _percent(words: Text) -> str:
    return quote_from_bytes(as_bytes(words), safe="")


def _multipart(draft: Draft) -> bytes:
    parts = [_part(name, "", as_bytes(value)) for name, value in draft.fields]
    for name, file, kind, content in draft.files:
        parts.append(_part(name, f'; filename="{_quoted(file)}"\r\nContent-Type: {kind}', content))
    return b"".join(parts) + f"--{EDGE}--\r\n".encode()


def _part(name: Text, more: str, content: bytes) -> bytes:
    head = f'--{EDGE}\r\nContent-Disposition: form-data; name="{_quoted(name)}"{more}\r\n\r\n'
    return head.encode("latin-1", "replace") + content + b"\r\n"


def _quoted(words: Text) -> str:
    return as_bytes(words).decode("latin-1").replace('"', "%22").replace("\r", "%0D").replace("\n", "%0A")


def as_bytes(words: Text) -> bytes:
    """Return a text as UTF-8, a lone surrogate in it as what would be its bytes; bytes stay."""
    return words if isinstance(words, bytes) else words.encode("utf-8", "surrogatepass")
