"""The blueprint that the pages of those who write catalogues hang in."""

from __future__ import annotations

from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response

blueprint: Final = Blueprint("catalogue", __name__, url_prefix="/catalogues")
Page = str | tuple[str, int] | Response
