"""The blueprint that a steward's pages about one catalogue hang in, and the day on which she looks."""

from __future__ import annotations

from datetime import date
from typing import Final
from zoneinfo import ZoneInfo

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

from drillhall.web.session import now, the_person

blueprint: Final = Blueprint("curating", __name__, url_prefix="/catalogues/<key>")
Page = str | tuple[str, int] | BaseResponse


def her_day() -> date:
    """Return the day on which whoever asks is."""
    return now().astimezone(ZoneInfo(the_person().zone)).date()
