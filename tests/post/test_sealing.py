"""The seals in letters: one purpose, one thing, and, where they begin something, one span of time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest
from itsdangerous import Signer

from drillhall.errors import NotFound
from drillhall.post.sealing import CONFIRM_ADDRESS, CONFIRM_QUESTION, STOP_QUESTION, STOP_REMINDERS, seal, unseal

KEY = "a hall's secret"
AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
UNTIL = AT + timedelta(hours=48)
NAME = "6f1c8a52-0000-4000-8000-000000000001"


@pytest.mark.parametrize("purpose", [CONFIRM_ADDRESS, CONFIRM_QUESTION])
def test_what_begins_something_is_over_by_its_own_seal(purpose: str) -> None:
    token = seal(KEY, purpose, NAME, until=UNTIL)
    assert unseal(KEY, purpose, token, at=AT) == NAME == unseal(KEY, purpose, token, at=UNTIL)
    with pytest.raises(NotFound, match="two days have passed"):
        unseal(KEY, purpose, token, at=UNTIL + timedelta(seconds=1))


@pytest.mark.parametrize("purpose", [STOP_QUESTION, STOP_REMINDERS])
def test_what_ends_something_is_good_for_years(purpose: str) -> None:
    assert unseal(KEY, purpose, seal(KEY, purpose, NAME), at=AT + timedelta(days=3650)) == NAME


def test_a_time_is_moved_by_nobody_and_none_is_not_for_ever() -> None:
    told, _, signature = seal(KEY, CONFIRM_ADDRESS, NAME, until=UNTIL).rpartition(".")
    later = f"{told[:-1]}{(int(told[-1]) + 1) % 10}.{signature}"
    timeless = Signer(KEY, salt=f"drillhall mail {CONFIRM_ADDRESS}", digest_method=sha256).sign(NAME)
    for token in (later, timeless.decode(), seal(KEY, STOP_REMINDERS, NAME), "", ".", "\udcff.x"):
        with pytest.raises(NotFound):
            unseal(KEY, CONFIRM_ADDRESS, token, at=AT)


def test_a_purpose_without_the_time_it_needs_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="confirm address"):
        seal(KEY, CONFIRM_ADDRESS, NAME)
    with pytest.raises(ValueError, match="stop question"):
        seal(KEY, STOP_QUESTION, NAME, until=UNTIL)
