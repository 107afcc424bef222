"""The blueprint that the views of groups hang in."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final
from zoneinfo import ZoneInfo

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import Invalid
from drillhall.practice.assigning import Assignment
from drillhall.practice.shelf import SetOnShelf
from drillhall.web import forms
from drillhall.web.session import now, the_person

blueprint: Final = Blueprint("groups", __name__, url_prefix="/groups")
Page = str | tuple[str, int] | BaseResponse


def her_day() -> date:
    """Return the day on which whoever asks is."""
    return now().astimezone(ZoneInfo(the_person().zone)).date()


def left_on_shelf(sets: Iterable[SetOnShelf], given: Iterable[Assignment]) -> tuple[SetOnShelf, ...]:
    """Return the pair sets of the shelf that a group is not given already; `given` are its assignments that are not ended."""
    had = {one.pair_set_id for one in given}
    return tuple(one for one in sets if one.id not in had)


def read_purpose(sentence: str) -> tuple[int | None, int | None]:
    """Return the assignment or the pair set that was chosen as purpose, or neither; raise Invalid with `sentence` where it is none."""
    what, _, number = forms.text("purpose", most=30).partition(":")
    if not number:
        return None, None
    if what not in {"assignment", "set"} or not number.isascii() or not number.isdecimal() or int(number) > forms.LARGEST_ID:
        raise Invalid(sentence, field="purpose")
    return (int(number), None) if what == "assignment" else (None, int(number))
