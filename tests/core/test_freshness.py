"""Whether a picture was fresh, judged from three times, is what the whole log of its sights says, or is not said."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.freshness import NewSight, SeenBefore, judge_sights, wants_begun
from drillhall.core.rounds.choose import FRESH_AFTER

START, DAY = datetime(2031, 3, 3, tzinfo=UTC), timedelta(days=1)
Sight = tuple[datetime, datetime]
"""When a showing was answered first, and last."""


def from_the_log(log: list[datetime], new: list[NewSight]) -> dict[int, tuple[bool, bool]]:
    """Judge by every time at which she came to see the picture."""
    times = [*log, *(one.at for one in new)]
    judged = {}
    for one in new:
        before = [at for at in times if at < one.at]
        if one.showing_id is not None:
            judged[one.showing_id] = (not before, not before or one.at - max(before) >= FRESH_AFTER)
    return judged


def known(log: list[Sight], *, begun: bool) -> SeenBefore | None:
    if not log:
        return None
    last_at = max(last for _, last in log)
    begun_at = next(first for first, last in log if last == last_at) if begun else None
    return SeenBefore(min(first for first, _ in log), last_at, begun_at)


@given(st.integers(0, 2**32))
@settings(max_examples=100, deadline=None)
def test_it_is_judged_as_from_the_log(seed: int) -> None:
    dice = Random(seed)
    log: list[Sight] = []
    at = START
    for _ in range(dice.randint(0, 4)):
        at += dice.choice((1, 30, 59, 60, 61)) * DAY
        log.append((at, at + dice.choice((0, 0, 1, 70)) * DAY))
    at = max([last for _, last in log], default=START)
    new = []
    for showing in range(dice.randint(1, 3)):
        at += dice.choice((0, 1, 59, 60)) * DAY
        new.append(NewSight(at, showing if dice.random() < 0.8 else None))
    before = known(log, begun=dice.random() < 0.5)
    judged = judge_sights(before, new, own=False)
    assert judged is None or judged == from_the_log([first for first, _ in log], new)


def test_a_picture_seen_long_ago_and_lately_asks_for_one_more_time_and_is_settled_by_it() -> None:
    before = SeenBefore(START, START + 100 * DAY)
    at = START + 130 * DAY
    assert wants_begun(before, at)
    assert judge_sights(before, [NewSight(at, 1)], own=False) is None
    begun = SeenBefore(before.first_at, before.last_at, before.last_at - timedelta(seconds=9))
    assert judge_sights(begun, [NewSight(at, 1)], own=False) == {1: (False, False)}
    assert not wants_begun(None, at)
    assert not wants_begun(before, START + 59 * DAY)
    assert not wants_begun(before, START + 160 * DAY)


@pytest.mark.parametrize(
    "new",
    [
        pytest.param([NewSight(START, 1)], id="at the time of the last"),
        pytest.param([NewSight(START - DAY, 1)], id="before the last"),
        pytest.param([NewSight(START + DAY, 1), NewSight(START + DAY, 2)], id="two at one time"),
        pytest.param([NewSight(START + DAY, 1), NewSight(START + DAY, None)], id="alone and beside another at one time"),
    ],
)
def test_what_may_change_other_showings_is_left_to_the_log(new: list[NewSight]) -> None:
    assert judge_sights(SeenBefore(START, START), new, own=False) is None
    assert judge_sights(SeenBefore(START, START), new, own=True) is None


def test_her_own_picture_is_never_fresh() -> None:
    assert judge_sights(None, [NewSight(START, 1), NewSight(START + 90 * DAY, 2)], own=True) == {1: (False, False), 2: (False, False)}
