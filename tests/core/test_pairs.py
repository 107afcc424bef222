"""Where a learner stands with a pair."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import wilson
from drillhall.core.memory import interval_days
from drillhall.core.pairs import fresh_lacking, settled_standing, standing
from drillhall.core.values import FreshAnswer, Memory, Outcome, Standing
from drillhall.errors import Invalid

TODAY = date(2031, 6, 1)
A, B = 11, 12
STEADY = Memory(stability_days=10.0, difficulty=5.0, last_day=TODAY, rounds=4, held_running=2)
SHAKY = replace(STEADY, held_running=1)


def answers(form_id: int, marks: str, *, days_ago: int = 0, rounds_before: int = 5) -> list[FreshAnswer]:
    """Fresh answers of one day, oldest first: + right, - wrong."""
    return [FreshAnswer(form_id, mark == "+", TODAY - timedelta(days=days_ago), rounds_before) for mark in marks]


def stand(memory: Memory | None, fresh: list[FreshAnswer], *, today: date = TODAY, met: bool = True) -> Standing:
    """The standing at the usual target recall."""
    return standing(memory, met=met, today=today, target_recall=0.9, fresh=fresh)


NINE_EACH = answers(A, "+" * 9) + answers(B, "+" * 9)


def test_nothing_begun_is_unmet() -> None:
    assert stand(None, [], met=False) is Standing.UNMET


def test_begun_and_never_rated_is_shaky() -> None:
    assert stand(None, NINE_EACH) is Standing.SHAKY


@pytest.mark.parametrize("held_running", [0, 1])
def test_fewer_than_two_held_rounds_in_a_row_are_shaky(held_running: int) -> None:
    assert stand(replace(STEADY, held_running=held_running), NINE_EACH) is Standing.SHAKY


def test_two_held_rounds_are_steady() -> None:
    assert stand(STEADY, []) is Standing.STEADY


@pytest.mark.parametrize(("days", "expected"), [(20, Standing.STEADY), (21, Standing.SHAKY)])
def test_twice_the_interval_is_the_last_steady_day(days: int, expected: Standing) -> None:
    assert stand(STEADY, [], today=TODAY + timedelta(days=days)) is expected


def test_a_higher_target_shortens_how_long_it_stays_steady() -> None:
    later = TODAY + timedelta(days=2 * interval_days(STEADY, target_recall=0.95) + 1)
    assert standing(STEADY, met=True, today=later, target_recall=0.95, fresh=[]) is Standing.SHAKY
    assert standing(STEADY, met=True, today=later, target_recall=0.90, fresh=[]) is Standing.STEADY


@pytest.mark.parametrize("marks", ["+" * 9, "-" + "+" * 14, "--" + "+" * 19, "---" + "+" * 22])
def test_smallest_proofs_are_field_ready_and_one_fewer_is_not(marks: str) -> None:
    assert stand(STEADY, answers(A, marks) + answers(B, marks)) is Standing.FIELD_READY
    assert stand(STEADY, answers(A, marks) + answers(B, marks[:-1])) is Standing.STEADY


def test_one_direction_alone_is_not_field_ready() -> None:
    assert stand(STEADY, answers(A, "+" * 25)) is Standing.STEADY


def test_a_shaky_pair_is_not_field_ready_whatever_was_answered() -> None:
    assert stand(SHAKY, NINE_EACH) is Standing.SHAKY


@pytest.mark.parametrize(("days_ago", "expected"), [(180, Standing.FIELD_READY), (181, Standing.STEADY)])
def test_answers_older_than_180_days_do_not_count(days_ago: int, expected: Standing) -> None:
    assert stand(STEADY, answers(A, "+" * 9, days_ago=days_ago) + answers(B, "+" * 9)) is expected


@pytest.mark.parametrize(("rounds_before", "expected"), [(2, Standing.STEADY), (3, Standing.FIELD_READY)])
def test_answers_of_the_first_three_rounds_do_not_count(rounds_before: int, expected: Standing) -> None:
    assert stand(STEADY, answers(A, "+" * 9, rounds_before=rounds_before) + answers(B, "+" * 9)) is expected


def test_only_the_latest_25_count() -> None:
    assert stand(STEADY, answers(A, "-" * 30 + "+" * 25) + answers(B, "+" * 9)) is Standing.FIELD_READY
    assert stand(STEADY, answers(A, "+" * 30 + "----") + answers(B, "+" * 9)) is Standing.STEADY


def test_excluded_answers_do_not_push_counted_ones_out_of_the_latest_25() -> None:
    early = answers(A, "-" * 25, rounds_before=1)
    assert stand(STEADY, answers(A, "+" * 9) + early + answers(B, "+" * 9)) is Standing.FIELD_READY


def test_a_third_among_the_fresh_answers_is_refused() -> None:
    with pytest.raises(ValueError, match="two forms"):
        stand(STEADY, [*NINE_EACH, *answers(13, "+")])


def test_target_out_of_range_is_refused() -> None:
    with pytest.raises(Invalid):
        standing(STEADY, met=True, today=TODAY, target_recall=0.5, fresh=[])


def test_settled_standing_does_not_fall_due() -> None:
    long_ago = replace(STEADY, last_day=TODAY - timedelta(days=900))
    assert stand(long_ago, []) is Standing.SHAKY
    assert settled_standing(long_ago, met=True, fresh=[]) is Standing.STEADY


def test_settled_standing_knows_nothing_of_later_answers() -> None:
    before = replace(STEADY, last_day=TODAY - timedelta(days=5))
    missed_since = answers(A, "----")
    old = answers(A, "+" * 9, days_ago=5) + answers(B, "+" * 9, days_ago=5)
    assert settled_standing(before, met=True, fresh=old + missed_since) is Standing.FIELD_READY
    assert settled_standing(before, met=True, fresh=answers(A, "+" * 9) + answers(B, "+" * 9)) is Standing.STEADY


def test_settled_standing_without_a_memory() -> None:
    assert settled_standing(None, met=False, fresh=[]) is Standing.UNMET
    assert settled_standing(None, met=True, fresh=NINE_EACH) is Standing.SHAKY


def test_settled_standing_after_a_miss_is_shaky() -> None:
    assert settled_standing(replace(STEADY, held_running=0, last=Outcome.MISSED), met=True, fresh=NINE_EACH) is Standing.SHAKY


@pytest.mark.parametrize(
    ("marks", "lacking"),
    [("", 9), ("++++", 5), ("-", 14), ("--", 19), ("---", 22), ("-" * 25, 22), ("+" * 9, 0), ("+" * 12 + "-", 2)],
)
def test_lacking_counts_right_answers_to_come(marks: str, lacking: int) -> None:
    assert fresh_lacking(answers(A, marks), A, today=TODAY) == lacking


def test_lacking_looks_at_one_direction_only() -> None:
    assert fresh_lacking(answers(B, "+" * 9), A, today=TODAY) == 9


@given(st.text("+-", max_size=40), st.integers(0, 200), st.integers(0, 6))
def test_as_many_as_are_lacking_suffice_and_one_fewer_does_not(marks: str, days_ago: int, rounds_before: int) -> None:
    given_before = answers(A, marks, days_ago=days_ago, rounds_before=rounds_before)
    lacking = fresh_lacking(given_before, A, today=TODAY)
    ready = answers(B, "+" * 9)
    assert 0 <= lacking <= 25
    assert stand(STEADY, given_before + answers(A, "+" * lacking) + ready) is Standing.FIELD_READY
    if lacking:
        assert stand(STEADY, given_before + answers(A, "+" * (lacking - 1)) + ready) is Standing.STEADY


@given(st.integers(0, 25), st.integers(0, 25), st.integers(0, 60))
def test_field_ready_exactly_where_the_interval_says_so(right: int, wrong: int, days: int) -> None:
    shown = min(25, right + wrong)
    marks = ("-" * wrong + "+" * right)[-25:]
    proven = wilson(marks.count("+"), shown).low >= 0.70
    found = stand(STEADY, answers(A, "-" * wrong + "+" * right) + answers(B, "+" * 9), today=TODAY + timedelta(days=days))
    assert found is (Standing.SHAKY if days > 20 else Standing.FIELD_READY if proven else Standing.STEADY)
