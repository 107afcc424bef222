"""Weeks, decay, priors and directions."""

from __future__ import annotations

import math
from collections import Counter
from datetime import date, timedelta
from itertools import permutations
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.confusion import (
    Misses,
    decayed,
    directions,
    first_share,
    mixup_rate,
    prior_rate,
    week_of,
    weeks_between,
    wilson,
)
from drillhall.core.values import NEITHER, Interval, Rendition, TallyKey

A, B, THIRD = 5, 6, 9
NOW = 203010
DAYS = st.dates(date(1990, 1, 1), date(2090, 1, 1))


def cell(
    shown: int, said: int, *, week: int = NOW, fresh: bool = False, prompted: bool = False, choices: int = 2, orientation: str = ""
) -> TallyKey:
    """One cell of a tally."""
    return TallyKey(shown, said, week, fresh, prompted, Rendition.AS_TAKEN, orientation, choices)


CELLS = st.builds(
    TallyKey,
    shown_form_id=st.sampled_from([A, B, THIRD]),
    said_form_id=st.sampled_from([A, B, NEITHER]),
    week=st.integers(1, 52).map(lambda week: 203000 + week),
    fresh=st.booleans(),
    prompted=st.booleans(),
    rendition=st.sampled_from(list(Rendition)),
    orientation=st.sampled_from(["", "left"]),
    choices=st.sampled_from([2, 3]),
)
TALLIES = st.dictionaries(CELLS, st.integers(1, 20), max_size=12)
MISSES = st.floats(0, 500).flatmap(lambda shown: st.builds(Misses, st.floats(0, shown), st.just(shown)))


# ISO 8601, as worked out by hand on a calendar: 2026 is a year of 53 weeks; 31 December 2029 belongs to 2030.
@pytest.mark.parametrize(
    ("day", "week"),
    [(date(2026, 12, 31), 202653), (date(2027, 1, 3), 202653), (date(2027, 1, 4), 202701), (date(2029, 12, 31), 203001)],
)
def test_week_of_days_around_new_year(day: date, week: int) -> None:
    assert week_of(day) == week


@pytest.mark.parametrize(
    ("earlier", "later", "weeks"), [(202653, 202701, 1), (202652, 202702, 3), (202552, 202601, 1), (202701, 202653, -1)]
)
def test_weeks_are_counted_across_years_of_52_and_53(earlier: int, later: int, weeks: int) -> None:
    assert weeks_between(earlier, later) == weeks


@pytest.mark.parametrize("week", [202553, 202600, 202654, 26])
def test_a_week_that_does_not_exist_is_refused(week: int) -> None:
    with pytest.raises(ValueError, match=r"(?i)invalid|year"):
        weeks_between(week, 202701)
    with pytest.raises(ValueError, match=r"(?i)invalid|year"):
        decayed([(week, 1)], week_now=202701)


def test_counts_halve_every_four_weeks() -> None:
    assert decayed([(203001, 1)], week_now=203005) == 0.5
    assert decayed([(203001, 1)], week_now=203009) == 0.25
    assert decayed([(203001, 1)], week_now=203003) == pytest.approx(math.sqrt(0.5))


def test_a_count_from_next_week_is_taken_whole() -> None:
    assert decayed([(203011, 3)], week_now=203010) == 3.0


def test_sum_over_weeks_is_the_same_in_any_order() -> None:
    counts = [(203001, 1), (203002, 7), (203003, 3), (203006, 11), (203008, 2)]
    assert len({decayed(order, week_now=203010) for order in permutations(counts)}) == 1


def test_no_counts_sum_to_nothing() -> None:
    assert decayed([], week_now=NOW) == 0.0


@pytest.mark.parametrize(("prior", "weight"), [(-0.1, 8.0), (1.1, 8.0), (math.nan, 8.0), (0.5, 0.0), (0.5, -1.0)])
def test_impossible_priors_are_refused(prior: float, weight: float) -> None:
    with pytest.raises(ValueError, match="is none"):
        mixup_rate(1, 2, prior=prior, weight=weight)


@pytest.mark.parametrize(("missed", "shown"), [(3, 2), (-1, 2), (math.nan, 2)])
def test_impossible_misses_are_refused(missed: float, shown: float) -> None:
    with pytest.raises(ValueError, match="is no count"):
        mixup_rate(missed, shown, prior=0.25)


def test_mixup_rate_is_the_prior_until_something_is_shown() -> None:
    assert mixup_rate(0, 0, prior=0.31) == pytest.approx(0.31)


def test_eight_showings_weigh_as_much_as_the_prior() -> None:
    assert mixup_rate(8, 8, prior=0.2) == pytest.approx((1.0 + 0.2) / 2)


def test_prior_of_an_unknown_learner_is_that_of_the_pair() -> None:
    everyone = Misses(250, 1000)
    hard = prior_rate(own=Misses(), pair=Misses(300, 600), everyone=everyone)
    assert hard == pytest.approx(mixup_rate(300, 600, prior=mixup_rate(250, 1000, prior=0.25, weight=20), weight=20))


def test_prior_of_an_unknown_pair_is_that_of_the_learner() -> None:
    everyone = Misses(250, 1000)
    good = prior_rate(own=Misses(10, 300), pair=Misses(), everyone=everyone)
    assert good == pytest.approx(mixup_rate(10, 300, prior=0.25, weight=20))


def test_a_weak_learner_and_a_hard_pair_add_up() -> None:
    everyone, weak, hard = Misses(250, 1000), Misses(150, 400), Misses(200, 500)
    both = prior_rate(own=weak, pair=hard, everyone=everyone)
    assert both > max(prior_rate(own=weak, pair=Misses(), everyone=everyone), prior_rate(own=Misses(), pair=hard, everyone=everyone))


def test_prior_of_a_guesser_about_a_hard_pair_stops_at_guessing() -> None:
    assert prior_rate(own=Misses(180, 400), pair=Misses(180, 400), everyone=Misses(100, 1000)) == 0.5


def test_prior_goes_beyond_guessing_only_as_far_as_was_seen() -> None:
    # Nearly everybody takes this form for the other, so that guessing would be better.
    lured = prior_rate(own=Misses(200, 400), pair=Misses(800, 1000), everyone=Misses(100, 1000))
    assert lured == pytest.approx(0.8, abs=0.02)


def test_few_answers_move_the_prior_only_a_little() -> None:
    assert prior_rate(own=Misses(1, 1), pair=Misses(), everyone=Misses()) == pytest.approx(6 / 21)


def test_prior_refuses_impossible_counts() -> None:
    with pytest.raises(ValueError, match="is no count"):
        prior_rate(own=Misses(2, 1), pair=Misses(), everyone=Misses())


def test_directions_of_nothing() -> None:
    first, second = directions((A, B), {}, week_now=NOW, prior=0.3)
    assert (first.shown_form_id, second.shown_form_id) == (A, B)
    assert (first.right, first.shown, first.fresh_right, first.fresh_shown) == (0, 0, 0, 0)
    assert first.likely == first.fresh_likely == Interval(0.0, 1.0)
    assert first.mixup_rate == pytest.approx(0.3)


def test_directions_count_all_and_rate_two_choices() -> None:
    tally = {
        cell(A, A, fresh=True): 6,
        cell(A, B): 2,
        cell(A, A, choices=3): 10,
        cell(A, NEITHER, choices=3): 1,
        cell(A, A, prompted=True): 4,
        cell(B, B): 5,
        cell(THIRD, NEITHER, choices=3): 7,
    }
    first, second = directions((A, B), tally, week_now=NOW, prior=0.25)
    assert (first.right, first.shown) == (20, 23)
    assert (first.fresh_right, first.fresh_shown) == (6, 6)
    assert first.likely == wilson(20, 23)
    assert first.fresh_likely == wilson(6, 6)
    assert first.mixup_rate == pytest.approx((2 + 8 * 0.25) / (12 + 8))
    assert (second.right, second.shown, second.mixup_rate) == (5, 5, pytest.approx(8 * 0.25 / 13))


def test_neither_said_of_a_form_is_a_miss() -> None:
    first, _ = directions((A, B), {cell(A, NEITHER, choices=3): 4}, week_now=NOW)
    assert (first.right, first.shown) == (0, 4)


def test_old_misses_fade_from_the_rate_and_not_from_the_counts() -> None:
    recent, _ = directions((A, B), {cell(A, B): 8}, week_now=NOW)
    old, _ = directions((A, B), {cell(A, B, week=202910): 8}, week_now=NOW)
    assert old.mixup_rate < recent.mixup_rate
    assert old.mixup_rate == pytest.approx(0.25, abs=0.001)
    assert old.likely == recent.likely


def test_a_prior_a_direction() -> None:
    first, second = directions((A, B), {}, week_now=NOW, prior={A: 0.1, B: 0.4})
    assert (first.mixup_rate, second.mixup_rate) == (pytest.approx(0.1), pytest.approx(0.4))


def test_a_direction_without_a_prior_is_refused() -> None:
    with pytest.raises(KeyError):
        directions((A, B), {}, week_now=NOW, prior={A: 0.1})


def test_the_form_missed_more_has_the_larger_share() -> None:
    both = directions((A, B), {cell(A, B): 6, cell(B, B): 6}, week_now=NOW)
    assert first_share(both) > 0.5
    assert first_share((both[1], both[0])) == pytest.approx(1 - first_share(both))


def test_showing_a_form_more_often_does_not_raise_its_share() -> None:
    few = directions((A, B), {cell(A, B): 10, cell(A, A): 30, cell(B, A): 10, cell(B, B): 30}, week_now=NOW)
    many = directions((A, B), {cell(A, B): 100, cell(A, A): 300, cell(B, A): 10, cell(B, B): 30}, week_now=NOW)
    assert first_share(few) == pytest.approx(0.5)
    assert first_share(many) == pytest.approx(0.5)


def test_share_of_a_pair_never_missed_is_even() -> None:
    assert first_share(directions((A, B), {}, week_now=NOW, prior=0.0)) == 0.5


@given(DAYS, st.integers(-2000, 2000))
def test_weeks_between_agree_with_whole_weeks(day: date, weeks: int) -> None:
    assert weeks_between(week_of(day), week_of(day + timedelta(weeks=weeks))) == weeks


@given(DAYS, DAYS)
def test_weeks_are_ordered_as_days(one: date, other: date) -> None:
    earlier, later = sorted((one, other))
    assert week_of(earlier) <= week_of(later)
    assert weeks_between(week_of(earlier), week_of(later)) >= 0


@given(MISSES, MISSES, MISSES)
def test_prior_is_a_chance(own: Misses, pair: Misses, everyone: Misses) -> None:
    assert 0 < prior_rate(own=own, pair=pair, everyone=everyone) < 1


@given(TALLIES, st.floats(0, 1))
def test_directions_hold_for_any_tally(tally: dict[TallyKey, int], prior: float) -> None:
    both = directions((A, B), tally, week_now=203020, prior=prior)
    shown = sum(count for key, count in tally.items() if key.shown_form_id != THIRD and key.rendition is Rendition.AS_TAKEN)
    assert sum(direction.shown for direction in both) == shown
    for direction in both:
        assert 0 <= direction.fresh_right <= direction.right <= direction.shown
        assert direction.fresh_right <= direction.fresh_shown <= direction.shown
        assert 0 <= direction.mixup_rate <= 1
    assert 0 <= first_share(both) <= 1


@given(TALLIES, st.randoms(use_true_random=False))
def test_order_of_the_tally_changes_nothing_to_the_last_bit(tally: dict[TallyKey, int], dice: Random) -> None:
    cells = list(tally.items())
    dice.shuffle(cells)
    for one, other in zip(directions((A, B), tally, week_now=NOW), directions((A, B), dict(cells), week_now=NOW), strict=True):
        assert one == other


@given(TALLIES)
def test_orientation_makes_no_difference_to_a_direction_and_renditions_are_left_out(tally: dict[TallyKey, int]) -> None:
    merged: Counter[TallyKey] = Counter()
    for key, count in tally.items():
        if key.rendition is not Rendition.AS_TAKEN:
            continue
        merged[cell(key.shown_form_id, key.said_form_id, week=key.week, fresh=key.fresh, prompted=key.prompted, choices=key.choices)] += (
            count
        )
    for one, other in zip(directions((A, B), tally, week_now=NOW), directions((A, B), merged, week_now=NOW), strict=True):
        assert (one.right, one.shown, one.likely) == (other.right, other.shown, other.likely)
        assert one.mixup_rate == pytest.approx(other.mixup_rate, abs=1e-12)
