"""Reads answers off a page's form or off the player's JSON: each one whole, or refused naming the field."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from flask import request

from drillhall.errors import BadAnswer, Invalid
from drillhall.practice.answering import NewAnswer, Refused
from drillhall.web import forms
from drillhall.words import say

MOST_SECONDS = 3600.0
LARGEST = 2**31 - 1


def from_form(received_at: datetime) -> NewAnswer:
    """Read the one answer of a page without script; the time taken is that between showing the page and receiving the form."""
    said, _, sure = forms.text("answer").partition(":")
    shown_at = _instant(forms.text("shown_at"), "shown_at")
    return NewAnswer(
        id=forms.text("id"),
        showing=forms.whole("showing", say("The picture")),
        ask=forms.whole("ask", say("The question")),
        said=said,
        sure=sure or None,
        seconds=min(max((received_at - shown_at).total_seconds(), 0.0), MOST_SECONDS),
        hint=forms.ticked("hint"),
        at=received_at,
    )


def _sent() -> Any:
    """Return the request's JSON, or None where it is none; one nested beyond all reason is none either."""
    try:
        return request.get_json(silent=True)
    except RecursionError:
        return None


def queue_of_json() -> str:
    """Return whose queue on the device a batch comes from, or empty where it does not say."""
    sent = _sent()
    queue = sent.get("queue") if isinstance(sent, dict) else None
    return queue if isinstance(queue, str) else ""


def from_json(received_at: datetime) -> tuple[list[NewAnswer], list[Refused]]:
    """Read a batch; an answer that cannot be read is refused by its id, so that it does not hold up the others."""
    sent = _sent()
    answers = sent.get("answers") if isinstance(sent, dict) else None
    if not isinstance(answers, list) or not answers:
        raise BadAnswer(say("Send {answers: [...]} with at least one answer."), field="answers")
    read: list[NewAnswer] = []
    unreadable: list[Refused] = []
    for one in answers:
        if not isinstance(one, dict) or not isinstance(one.get("id"), str):
            raise BadAnswer(say("Each answer must be an object with an id."), field="answers")
        try:
            read.append(_one_from_json(one, received_at))
        except Invalid as fault:
            unreadable.append(Refused(one["id"][:200], fault.sentence))
    return read, unreadable


def _one_from_json(one: dict[str, Any], received_at: datetime) -> NewAnswer:
    """Read one answer, or refuse it naming the field."""
    at = _instant(_typed(one, "at", str), "at")
    return NewAnswer(
        id=_typed(one, "id", str),
        showing=_whole(one, "showing"),
        ask=_whole(one, "ask"),
        said=_typed(one, "said", str),
        sure=_typed(one, "sure", str) if one.get("sure") else None,
        seconds=_seconds(one),
        hint=bool(one.get("hint", False)),
        at=at,
        clock_ahead=_ahead(one, at, received_at),
    )


def _ahead(one: dict[str, Any], at: datetime, received_at: datetime) -> timedelta:
    """Return how far the device's clock runs ahead, nothing where it does not say; it must leave a time when it is taken off `at`."""
    if one.get("phone_now") is None:
        return timedelta(0)
    ahead = _instant(_typed(one, "phone_now", str), "phone_now") - received_at
    try:
        at - ahead
    except OverflowError:
        raise _no_time("phone_now") from None
    return ahead


def _typed(one: dict[str, Any], field: str, *types: type) -> Any:
    value = one.get(field)
    if not isinstance(value, types) or isinstance(value, bool) or (isinstance(value, str) and len(value) > 200):
        raise BadAnswer(say('An answer\'s "{field}" is missing or of the wrong kind.', field=field), field=field)
    return value


def _whole(one: dict[str, Any], field: str) -> int:
    number = _typed(one, field, int)
    if not -LARGEST <= number <= LARGEST:
        raise BadAnswer(say('An answer\'s "{field}" is no number of this hall.', field=field), field=field)
    return int(number)


def _seconds(one: dict[str, Any]) -> float:
    try:
        return float(_typed(one, "seconds", int, float))
    except OverflowError:
        raise BadAnswer(say("The time taken must be a number of seconds, 0 or more."), field="seconds") from None


def _instant(text: str, field: str) -> datetime:
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        instant = None
    # A day from either end of the calendar cannot be moved to another zone.
    if instant is None or instant.tzinfo is None or not 2 <= instant.year <= 9998:
        raise _no_time(field)
    return instant


def _no_time(field: str) -> Invalid:
    return Invalid(say("A time must be written like 2031-05-01T08:00:00+00:00, with its zone."), field=field)
