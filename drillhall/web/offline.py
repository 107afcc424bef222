"""What makes the hall an app on a device and lets it open without a connection: manifest, icons, service worker, the page shown then."""

from __future__ import annotations

import json
import re
from typing import Final

from flask import Blueprint, Response, jsonify, make_response, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import NotFound
from drillhall.web import assets
from drillhall.web.helping import parts_page
from drillhall.web.icons import ICONS, draw
from drillhall.words import say, speaking
from drillhall.words.locales import direction

blueprint: Final = Blueprint("offline", __name__)

_FILES: Final = re.compile(r'(?:href|src)="([^"]*/static/[^"]+)"')
A_WEEK: Final = "public, max-age=604800"


@blueprint.get("/sw.js")
def worker() -> BaseResponse:
    """Give the service worker, whose place at the top lets it answer for the whole hall.

    Before it stands what it keeps of the program: its files, and the pages that are nobody's, in the language of whoever reads;
    and where answers go. As that is told by its version and its language, a new release is a new worker, and so is another language.
    """
    pages = {url_for("offline.offline"): _page(), url_for("help.parts_of_a_bird"): parts_page(person=None)}
    shell = {
        "version": assets.version(),
        "language": speaking(),
        "page": url_for("offline.offline"),
        "pages": list(pages),
        "files": _files_of("".join(pages.values())),
        "answers": url_for("learner.answer"),
        "csrf": url_for("account.csrf"),
    }
    response = make_response(f"const SHELL = {json.dumps(shell)};\n{assets.read('js/sw.js')}")
    response.mimetype = "text/javascript"
    response.headers["Cache-Control"] = "no-cache"
    response.add_etag()
    return response.make_conditional(request)


@blueprint.get("/manifest.webmanifest")
def manifest() -> Response:
    """Say under which name, colours and icons the hall stands among a device's apps (W3C, Web Application Manifest)."""
    response = jsonify(_manifest())
    response.mimetype = "application/manifest+json"
    response.headers["Cache-Control"] = "no-cache"
    return response


@blueprint.get("/icons/<icon_name>.png")
def icon(icon_name: str) -> Response:
    """Give one of the hall's icons."""
    if icon_name not in ICONS:
        raise NotFound(say("There is no such icon here."))
    response = make_response(draw(ICONS[icon_name]))
    response.mimetype = "image/png"
    response.headers["Cache-Control"] = A_WEEK
    return response


@blueprint.get("/offline")
def offline() -> str:
    """Show the page that a device keeps for when there is no connection; it is nobody's, and its script says what the device holds."""
    return _page()


def _page() -> str:
    return render_template("offline/offline.html", person=None)


def _files_of(page: str) -> list[str]:
    """Return the addresses of the program's files that a page names."""
    return list(dict.fromkeys(_FILES.findall(page)))


def _manifest() -> dict[str, object]:
    return {
        "id": "/",
        "name": "Drillhall",
        "short_name": "Drillhall",
        "description": say("Tell look-alike wild species apart: a few minutes a day."),
        "lang": speaking(),
        "dir": direction(speaking()),
        "start_url": url_for("learner.today"),
        "scope": "/",
        "display": "standalone",
        "theme_color": assets.shade("paper").light,
        "background_color": assets.shade("paper").light,
        "icons": [
            {
                "src": url_for("offline.icon", icon_name=name),
                "sizes": f"{icon.side_px}x{icon.side_px}",
                "type": "image/png",
                "purpose": icon.purpose,
            }
            for name, icon in ICONS.items()
        ],
    }
