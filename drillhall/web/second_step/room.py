"""The blueprint of the second step, and how a code that was typed is looked at."""

from __future__ import annotations

from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import Invalid
from drillhall.people import audit, limits, second_step
from drillhall.web import forms
from drillhall.web.session import now, store

blueprint: Final = Blueprint("second_step", __name__)
Page = str | tuple[str, int] | BaseResponse


def spend_try(account_id: int) -> None:
    """Count one try at a code, or raise TooMany."""
    with store().work() as db:
        limits.spend_try(db, limits.SECOND_STEP, str(account_id), at=now())
        limits.spend_try(db, limits.SECOND_STEP_DAY, str(account_id), at=now())


def recognise_typed(account_id: int) -> second_step.Shown:
    """Count the try and return the code that was typed; raises Invalid, after it was written down, where it is not good."""
    spend_try(account_id)
    try:
        with store().look() as db:
            shown = second_step.recognise_code(db, account_id, forms.text("code", most=40), at=now())
    except Invalid:
        with store().work() as db:
            audit.note(db, "code refused", at=now(), subject=f"account {account_id}")
        raise
    with store().work() as db:
        limits.forget_tries(db, limits.SECOND_STEP, str(account_id))
    return shown
