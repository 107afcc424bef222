"""The blueprint of the second step."""

from __future__ import annotations

from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

blueprint: Final = Blueprint("second_step", __name__)
Page = str | tuple[str, int] | BaseResponse
