"""Gathers every number by which the drill decides from where it is decided, so that the page that tells them cannot say another."""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction
from itertools import count
from typing import Any, Final

from drillhall.core import fitting, forecast, memory, pairs, placement, prompts
from drillhall.core.confusion import certainty, mixups, wilson
from drillhall.core.placement import Placing, place
from drillhall.core.rounds import beside, build, choose, day, extras, outings, plan
from drillhall.core.values import Sure
from drillhall.core.values.plans import DrillWish, RoundNeeds

PERCENT: Final = 100


def _usual(values: type, name: str) -> Any:
    """Return what a field holds where nothing else was said."""
    return next(field.default for field in fields(values) if field.name == name)


def _one_in(share: float) -> int:
    """Return how many of something hold one, by its share: a third is one in three."""
    return Fraction(share).limit_denominator(PERCENT).denominator


@dataclass(frozen=True, slots=True)
class Numbers:
    """What the drill decides by. Shares and chances are in a hundred, times in days; a name says what a number is of."""

    round_pictures: int = day.USUAL_ROUND
    least_form_share: int = round(build.LEAST_FORM_SHARE * PERCENT)
    both_forms_rounds: int = build.BOTH_FORMS_ROUNDS
    fresh_after_days: int = choose.FRESH_AFTER.days
    rested_after_days: int = choose.RESTED_AFTER.days
    as_they_come_one_in: int = build.AS_THEY_COME_ONE_IN
    third_share: int = round(_usual(RoundNeeds, "third_share") * PERCENT)
    most_third_share: int = round(build.MOST_THIRD_SHARE * PERCENT)
    prompted_rounds: int = build.NEW_ROUNDS
    prompt_fades_below: int = round(prompts.FADED_BELOW * PERCENT)
    prompts_needed: int = prompts.ENOUGH_ASKED
    extra_one_in: int = _one_in(extras.EXTRA_SHARE)
    beside_one_in: int = _one_in(beside.BESIDE_SHARE)
    new_every: int = day.NEW_EVERY
    new_a_day: int = _usual(DrillWish, "new_a_day")
    least_weight: float = day.LEAST_WEIGHT
    most_weight: float = day.MOST_WEIGHT
    weak_weight: float = day.WEAK_WEIGHT
    weak_rate: int = round(day.WEAK_RATE * PERCENT)
    mixed_up_rate: int = round(day.MIXED_UP_RATE * PERCENT)
    longest_days_mixed_up: int = day.LONGEST_DAYS_MIXED_UP
    rest_rounds: int = plan.REST_ROUNDS
    outing_weight: float = outings.OUTING_WEIGHT
    most_new_for_outing: int = outings.MOST_NEW_A_DAY
    target: int = round(memory.DEFAULT_TARGET * PERCENT)
    lowest_target: int = round(memory.LOWEST_TARGET * PERCENT)
    highest_target: int = round(memory.HIGHEST_TARGET * PERCENT)
    spread_from_days: int = memory.SPREAD_FROM_DAYS
    spread_share: int = round(memory.SPREAD_SHARE * PERCENT)
    certain: int = round(certainty.CHANCE_MEANT[Sure.CERTAIN] * PERCENT)
    probable: int = round(certainty.CHANCE_MEANT[Sure.PROBABLE] * PERCENT)
    possible: int = round(certainty.CHANCE_MEANT[Sure.POSSIBLE] * PERCENT)
    steady_rounds: int = pairs.STEADY_ROUNDS
    steady_intervals: int = pairs.STEADY_INTERVALS
    latest_answers: int = pairs.LATEST_ANSWERS
    oldest_days: int = pairs.OLDEST_DAYS
    first_rounds: int = pairs.FIRST_ROUNDS
    field_ready_from: int = round(pairs.FIELD_READY_FROM * PERCENT)
    half_life_weeks: float = mixups.HALF_LIFE_WEEKS
    prior_weight: float = mixups.PRIOR_WEIGHT
    knows_rate: int = round(placement.KNOWS_RATE * PERCENT)
    error_rate: int = round(placement.ERROR_RATE * PERCENT)
    most_tried: int = placement.MOST_PICTURES
    forecast_rounds: int = forecast.LEAST_ROUNDS
    forecast_learners: int = forecast.LEAST_LEARNERS
    own_numbers: int = len(memory.USUAL_PARAMETERS)
    own_numbers_from: int = fitting.LEAST_ROUNDS

    def by_name(self) -> dict[str, int | float]:
        """Every number by its name; one that is whole has no point."""
        every = {field.name: getattr(self, field.name) for field in fields(self)}
        return {name: int(number) if float(number).is_integer() else number for name, number in every.items()}


def right_of(misses: int) -> tuple[int, int]:
    """Return the fewest right answers, and of how many, that are field-ready one way with so many missed.

    >>> right_of(0), right_of(1)
    ((9, 9), (14, 15))
    """
    for right in count():
        if wilson(right, right + misses).low >= pairs.FIELD_READY_FROM:
            return right, right + misses
    raise AssertionError("enough right answers outweigh any misses")


def field_ready_by() -> tuple[tuple[int, int], ...]:
    """Return every fewest "right of so many" that is field-ready, up to as many answers as are looked at."""
    every = (right_of(misses) for misses in range(pairs.LATEST_ANSWERS))
    return tuple((right, shown) for right, shown in every if shown <= pairs.LATEST_ANSWERS)


def running_right() -> int:
    """Return how many right answers running pass a trial of a pair that a learner says she knows."""
    return next(right for right in count(1) if place([True] * right) is Placing.PASSED)
