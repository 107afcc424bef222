"""Believes forwarded headers from one named proxy alone."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from werkzeug.middleware.proxy_fix import ProxyFix

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment


class BelieveOneProxy:
    """Passes a request from the proxy through ProxyFix, and any other one as it came."""

    def __init__(self, app: WSGIApplication, address: str) -> None:
        self._plain = app
        self._believing = ProxyFix(app, x_for=1, x_proto=1, x_host=1, x_port=0, x_prefix=0)
        self._address = address

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        app = self._believing if environ.get("REMOTE_ADDR") == self._address else self._plain
        return app(environ, start_response)
