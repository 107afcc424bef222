"""The blueprint that open questions hang in, and what a browser carries for them: that it has answered today, and what it said just now."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from flask import Blueprint, current_app, request
from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import NotFound
from drillhall.practice.open_questions.asking import OpenDay
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.web.session import settings
from drillhall.words import say

blueprint: Final = Blueprint("open", __name__)
Page = str | tuple[str, int] | BaseResponse

ANSWERED: Final = "drillhall-answered"
"""The cookie's name: it lives under the question's own address, ends with its day, and holds that day alone."""


def read_day(typed: str, question: OpenQuestion) -> date:
    """Return the day that an address names: a date, or `yesterday`."""
    if typed == "yesterday":
        return question.today - timedelta(days=1)
    try:
        day = date.fromisoformat(typed)
    except ValueError:
        day = None
    if day is None or day.isoformat() != typed:  # other spellings of a date are other addresses
        raise NotFound(say("This question has no such day."))
    return day


def seal_said(question: OpenQuestion, shown: OpenDay, said_form_id: int) -> str:
    """Return what was said, signed, so that it travels to the answer's page in the address and lies nowhere."""
    return _seal("said").dumps([question.public_id, shown.day.isoformat(), shown.picture.public_id, said_form_id])


def find_said(question: OpenQuestion, shown: OpenDay) -> int | None:
    """Return which form whoever asks has just said to this picture, or None."""
    try:
        public_id, day, picture, said = _seal("said").loads(request.args.get("said", ""))
    except (BadSignature, ValueError, TypeError):
        return None
    return int(said) if [public_id, day, picture] == [question.public_id, shown.day.isoformat(), shown.picture.public_id] else None


def has_answered(question: OpenQuestion) -> bool:
    """Whether this browser says that it has been counted today."""
    try:
        return bool(_seal(question.public_id).loads(request.cookies.get(ANSWERED, "")) == question.today.isoformat())
    except BadSignature:
        return False


def note_answered(response: BaseResponse, question: OpenQuestion, path: str, *, at: datetime) -> None:
    """Let the browser remember until the day ends that it has been counted."""
    midnight = datetime.combine(question.today + timedelta(days=1), time(), ZoneInfo(question.zone))
    left = max(1, int((midnight - at).total_seconds()))
    value = _seal(question.public_id).dumps(question.today.isoformat())
    response.set_cookie(ANSWERED, value, max_age=left, path=path, secure=settings().is_https, httponly=True, samesite="Lax")


def _seal(what: str) -> URLSafeSerializer:
    return URLSafeSerializer(str(current_app.secret_key), salt=f"open question {what}")
