"""The blueprint that the views of mail hang in."""

from __future__ import annotations

from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

blueprint: Final = Blueprint("mail", __name__)
Page = str | tuple[str, int] | BaseResponse
