"""Runs a course: every day the same learners come, a policy chooses, they answer, and at the end they are tested."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.bench.learning.learner import Minds
from tests.bench.learning.numbers import DAYS, MINUTES_A_PICTURE, TEST_DAY
from tests.bench.learning.policies import Policy
from tests.bench.learning.world import Array, World


@dataclass(frozen=True)
class Tested:
    """What learners could do with held-out pictures on some day: right rates by (learner, pair), in points."""

    pairs: Array

    @property
    def mean(self) -> Array:
        return np.asarray(self.pairs.mean(1))

    @property
    def weakest(self) -> Array:
        return np.asarray(self.pairs.min(1))

    @property
    def three_weakest(self) -> Array:
        return np.asarray(np.sort(self.pairs, 1)[:, :3].mean(1))


def take_course(
    world: World, make_policy: Callable[[World], Policy], *, pictures_a_day: int, test_days: tuple[int, ...] = (TEST_DAY,)
) -> dict[int, Tested]:
    """Take the whole course under a policy and return what was tested on each day (counted from 0, in the morning)."""
    minds, policy = Minds(world), make_policy(world)
    tested = {}
    for day in range(max(test_days) + 1):
        minds.wake(day)
        if day in test_days:
            tested[day] = Tested(100 * minds.right_rates().mean(2))
        who = np.flatnonzero(world.attends[:, day]) if day < DAYS else np.array([], int)
        if not len(who) or day == max(test_days):
            continue
        luck = world.luck(day)
        policy.begin(day, who)
        for place in range(pictures_a_day):
            shown = policy.choose(place, who, luck[:, place])
            said, right, sure = minds.show(
                shown.who,
                shown.pair,
                shown.form,
                shown.picture,
                minute=place * MINUTES_A_PICTURE,
                luck=luck[:, place],
                neither=shown.neither,
                asked=shown.asked,
            )
            policy.hear(place, shown, said, right, sure)
        policy.end()
    return tested
