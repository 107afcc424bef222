"""Codes of the moment: each once, a clock a little off, and nothing else."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from drillhall.core.one_time import STEP_SECONDS, code_of, find_step, step_of

SECRET = b"12345678901234567890"
AT = datetime(2031, 3, 3, 9, 0, 10, tzinfo=UTC)
NOW = step_of(AT)


@pytest.mark.parametrize(("off", "taken"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_clock_may_be_one_step_off(off: int, taken: bool) -> None:
    typed = code_of(SECRET, NOW + off)
    assert find_step(SECRET, typed, at=AT, after=0) == (NOW + off if taken else None)


def test_a_code_is_taken_once_and_none_before_it_afterwards() -> None:
    assert find_step(SECRET, code_of(SECRET, NOW), at=AT, after=NOW) is None
    assert find_step(SECRET, code_of(SECRET, NOW - 1), at=AT, after=NOW) is None
    assert find_step(SECRET, code_of(SECRET, NOW + 1), at=AT, after=NOW) == NOW + 1


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "abcdef", "\udc80", "١٢٣٤٥٦", "0" * 400])
def test_what_is_no_code_is_none(typed: str) -> None:
    assert find_step(SECRET, typed, at=AT, after=0) is None


def test_spaces_do_not_count_and_leading_noughts_do() -> None:
    at = next(
        moment for moment in (AT + timedelta(seconds=STEP_SECONDS * n) for n in range(200)) if code_of(SECRET, step_of(moment))[0] == "0"
    )
    code = code_of(SECRET, step_of(at))
    assert find_step(SECRET, f" {code[:3]} {code[3:]} ", at=at, after=0) == step_of(at)
    assert find_step(SECRET, code.lstrip("0"), at=at, after=0) is None


def test_another_secret_gives_other_codes() -> None:
    assert find_step(b"another secret of 20", code_of(SECRET, NOW), at=AT, after=0) is None
