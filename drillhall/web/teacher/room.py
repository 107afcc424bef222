"""The blueprint that the views of whoever teaches hang in."""

from __future__ import annotations

from datetime import date
from typing import Final
from zoneinfo import ZoneInfo

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

from drillhall.web.session import now, the_person

blueprint: Final = Blueprint("teacher", __name__, url_prefix="/groups")
Page = str | tuple[str, int] | BaseResponse


def her_day() -> date:
    """Return the day on which whoever asks is."""
    return now().astimezone(ZoneInfo(the_person().zone)).date()
