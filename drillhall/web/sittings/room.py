"""The blueprint that the views of sittings hang in."""

from __future__ import annotations

from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

blueprint: Final = Blueprint("sittings", __name__)
Page = str | tuple[str, int] | BaseResponse
