"""The pictures of a trial: each once, unseen ones first, and of either form by a throw of its own."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from drillhall.core.rounds.trial import draw_trial
from drillhall.core.values import Candidate

SEEN = datetime(2031, 3, 3, tzinfo=UTC)


def pictures(first: int, second: int) -> list[Candidate]:
    return [Candidate(number, 1) for number in range(first)] + [Candidate(100 + number, 2) for number in range(second)]


def test_each_picture_comes_once_and_both_forms_come() -> None:
    drawn = draw_trial(pictures(12, 12), (1, 2), dice=Random(3))
    assert len(drawn) == 10
    assert len({one.picture_id for one in drawn}) == 10
    assert {one.form_id for one in drawn} == {1, 2}


def test_nobody_can_deduce_what_comes() -> None:
    counts = {sum(one.form_id == 1 for one in draw_trial(pictures(12, 12), (1, 2), dice=Random(seed))) for seed in range(200)}
    assert {3, 5, 7} <= counts


def test_what_was_never_seen_comes_first_then_what_was_longest_ago() -> None:
    seen = [Candidate(number, 1, seen_at=SEEN + timedelta(days=number)) for number in range(5)]
    drawn = draw_trial([*seen, Candidate(50, 1), *pictures(0, 9)], (1, 2), dice=Random(5))
    assert [one.picture_id for one in drawn if one.form_id == 1][:3] == [50, 0, 1]


@pytest.mark.parametrize(("first", "second"), [(4, 12), (12, 4), (0, 0)])
def test_too_few_pictures_make_no_trial(first: int, second: int) -> None:
    assert draw_trial(pictures(first, second), (1, 2), dice=Random(1)) == ()


def test_it_ends_where_the_form_thrown_has_no_picture_left() -> None:
    drawn = [draw_trial(pictures(5, 12), (1, 2), dice=Random(seed)) for seed in range(60)]
    assert all(sum(one.form_id == 1 for one in trial) <= 5 for trial in drawn)
    assert any(len(trial) < 10 for trial in drawn)
