"""The files that travel with the program: the version that their content gives them, how they are sent, and the colours they name."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from flask import Flask, Response, abort, send_from_directory
from werkzeug.security import safe_join

from drillhall.config import asset_folder

VERSION_SIGNS: Final = 12
YEAR_SECONDS: Final = 365 * 24 * 3600
JOINT: Final = "~"
"""Style sheets joined by this in an address come as one file: each by itself would cost a slow line its own request and headers."""
TOLD_ALREADY: Final = ("Accept-Ranges", "Content-Disposition", "Expires", "Last-Modified")
"""Headers without which a file kept for good is the same: RFC 9111, 5.3, max-age goes before Expires; RFC 9110, 8.8, so do tags."""

_DUSK: Final = "prefers-color-scheme: dark"


@dataclass(frozen=True, slots=True)
class Shade:
    """One colour of the tokens by day and at dusk, as #rrggbb."""

    light: str
    dark: str


def init_app(app: Flask) -> None:
    """Serve the files under an address that changes with them, so that a browser need not ask for them twice."""
    app.add_url_rule(f"/static/<string(length={VERSION_SIGNS}):version>/<path:filename>", "static", _static)
    app.add_url_rule("/static/<path:filename>", "static", _static)
    app.url_defaults(_add_version)


@cache
def version() -> str:
    """Return the mark of this very state of files and templates: the same in every process of one release, another in the next."""
    told = sha256()
    for folder in (asset_folder("static"), asset_folder("templates")):
        for path in sorted(path for path in folder.rglob("*") if path.is_file()):
            told.update(f"{path.relative_to(folder).as_posix()}\0".encode() + sha256(path.read_bytes()).digest())
    return told.hexdigest()[:VERSION_SIGNS]


@cache
def shade(name: str) -> Shade:
    """Return the colour that a token names in both schemes, such as `paper` or `ink`: for what has no sheet of its own."""
    day, _, dusk = read("css/tokens.css").partition(_DUSK)
    told = re.compile(rf"--{name}:\s*(#[0-9a-f]{{6}})\b")
    return Shade(light=told.findall(day)[0], dark=told.findall(dusk)[0])


def read(name: str) -> str:
    """Return the text of one file of the program."""
    return Path(asset_folder("static"), name).read_text(encoding="utf-8")


def _add_version(endpoint: str, values: dict[str, Any]) -> None:
    if endpoint == "static":
        values.setdefault("version", version())


def _joined(filename: str) -> Response:
    sheets = []
    for name in filename.removeprefix("css/").removesuffix(".css").split(JOINT):
        path = safe_join(str(asset_folder("static")), "css", f"{name}.css")
        if path is None or not Path(path).is_file():
            abort(404)
        sheets.append(Path(path).read_text(encoding="utf-8"))
    response = Response("\n".join(sheets), mimetype="text/css")
    response.add_etag()
    return response


def _static(filename: str, **asked: str) -> Response:
    """Send a file; one asked for by another version's address is sent as it is now, to be asked for again the next time.

    While a release goes out, a page of one process may ask another process for its files.
    """
    is_now = asked.get("version") == version()
    if JOINT in filename:
        response = _joined(filename)
        response.cache_control.max_age = YEAR_SECONDS if is_now else 0
    else:
        response = send_from_directory(asset_folder("static"), filename, max_age=YEAR_SECONDS if is_now else None)
    if is_now:
        response.cache_control.immutable = True
        # Each of a drill's files says it anew: what its address and its tag say already is a third of a slow line's headers.
        for name in TOLD_ALREADY:
            response.headers.pop(name, None)
    return response
