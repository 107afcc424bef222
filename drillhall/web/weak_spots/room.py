"""The blueprint that the views of weak spots hang in."""

from __future__ import annotations

from datetime import date
from typing import Final
from zoneinfo import ZoneInfo

from flask import Blueprint

from drillhall.web.session import now, the_person

blueprint: Final = Blueprint("weak_spots", __name__, url_prefix="/groups")


def her_day() -> date:
    """Return the day on which whoever asks is."""
    return now().astimezone(ZoneInfo(the_person().zone)).date()
