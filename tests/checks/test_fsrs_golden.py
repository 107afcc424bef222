"""The memory against written-down sequences of FSRS, version 6, each round given exactly when it is due.

Source of every value: computed with fsrs 6.3.2 (default parameters, no steps, no dice, target recall 0.9), printed to six decimals.
The same sequences are computed here once more, straight from the formulas of FSRS, version 6, as its project publishes them.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from math import exp

import pytest
from fsrs import Card, Rating, Scheduler

from drillhall.core.memory import interval_days, next_memory, recall
from drillhall.core.values import Memory, Outcome

DAY = date(2030, 1, 1)
OUTCOME = {1: Outcome.MISSED, 2: Outcome.UNSURE, 3: Outcome.HELD, 4: Outcome.EASE}

SEQUENCES = {
    "333133": [
        (2.306500, 2.118104, 2),
        (10.964332, 2.111214, 11),
        (46.280217, 2.104331, 46),
        (2.932580, 7.389976, 3),
        (7.778226, 7.377814, 8),
        (18.781634, 7.365665, 19),
    ],
    "43333": [
        (8.295600, 1.0, 8),
        (38.905150, 1.0, 39),
        (153.000066, 1.0, 153),
        (509.550220, 1.0, 510),
        (1481.944170, 1.0, 1482),
    ],
    "3113": [(2.306500, 2.118104, 2), (0.607580, 7.394503, 1), (0.218838, 9.128819, 1), (0.910277, 9.114919, 1)],
}

# The default parameters w0 to w20 of FSRS, version 6.
W = (
    *(0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796),
    *(1.4835, 0.0614, 0.2629, 1.6483, 0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542),
)

# First stability and difficulty for each outcome: the parameters w0 to w3, and w4 − exp(w5 (G − 1)) + 1 held within 1 and 10.
FIRST = {1: (0.212, 6.4133), 2: (1.2931, 5.1121707056), 3: (2.3065, 2.1181039705), 4: (8.2956, 1.0)}

# Interval as a multiple of stability, by target recall: S / factor · (r^(1/decay) − 1).
MULTIPLES = {0.70: 9.2879, 0.75: 5.5695, 0.80: 3.3160, 0.85: 1.9064, 0.90: 1.0, 0.92: 0.7317, 0.95: 0.4026, 0.97: 0.2228}

# Recall at so many times the stability: (1 + factor · t / S)^decay.
RECALLS = {0.1: 0.985682, 1: 0.900000, 3: 0.809388, 10: 0.692827}

# A round held, and another the same day; only the library can be asked, for the memory takes one rated round a day.
SAME_DAY = {1: (0.775084, 7.394503), 2: (2.306500, 4.752858), 3: (2.306500, 2.111214), 4: (3.946054, 1.0)}


def first_difficulty(told: int) -> float:
    """D0 = w4 − exp(w5 (G − 1)) + 1, before it is held within 1 and 10."""
    return W[4] - exp(W[5] * (told - 1)) + 1


def by_formula(state: tuple[float, float] | None, told: int, days: int) -> tuple[float, float]:
    """Stability and difficulty after a round `days` after the last, from the formulas alone."""
    if state is None:
        return W[told - 1], min(max(first_difficulty(told), 1), 10)
    stability, difficulty = state
    recalled = (1 + (0.9 ** (-1 / W[20]) - 1) * days / stability) ** -W[20]
    if told == 1:
        after = W[11] * difficulty ** -W[12] * ((stability + 1) ** W[13] - 1) * exp((1 - recalled) * W[14])
        stability = min(after, stability / exp(W[17] * W[18]))
    else:
        growth = exp(W[8]) * (11 - difficulty) * stability ** -W[9] * (exp((1 - recalled) * W[10]) - 1)
        stability *= 1 + growth * {2: W[15], 3: 1, 4: W[16]}[told]
    moved = difficulty - W[6] * (told - 3) * (10 - difficulty) / 9
    return stability, min(max(W[7] * first_difficulty(4) + (1 - W[7]) * moved, 1), 10)


@pytest.mark.parametrize("told", [*SEQUENCES, "1111", "2222", "4444", "1234", "4321", "31323334"])
@pytest.mark.parametrize("gap_days", [1, 3, 40])
def test_formulas_written_out_once_more(told: str, gap_days: int) -> None:
    memory: Memory | None = None
    state: tuple[float, float] | None = None
    for place, digit in enumerate(told):
        memory = next_memory(memory, OUTCOME[int(digit)], day=DAY + timedelta(days=place * gap_days))
        state = by_formula(state, int(digit), gap_days)
        assert (memory.stability_days, memory.difficulty) == (pytest.approx(state[0], rel=1e-12), pytest.approx(state[1], rel=1e-12))


@pytest.mark.parametrize("told", SEQUENCES)
def test_sequence_of_rounds(told: str) -> None:
    memory: Memory | None = None
    day = DAY
    for digit, (stability_days, difficulty, days) in zip(told, SEQUENCES[told], strict=True):
        memory = next_memory(memory, OUTCOME[int(digit)], day=day)
        assert memory.stability_days == pytest.approx(stability_days, abs=6e-7)
        assert memory.difficulty == pytest.approx(difficulty, abs=6e-7)
        assert interval_days(memory, target_recall=0.9) == days
        day += timedelta(days=days)


@pytest.mark.parametrize("told", FIRST)
def test_first_round(told: int) -> None:
    memory = next_memory(None, OUTCOME[told], day=DAY)
    assert (memory.stability_days, memory.difficulty) == (pytest.approx(FIRST[told][0]), pytest.approx(FIRST[told][1], abs=1e-9))


@pytest.mark.parametrize("target", MULTIPLES)
def test_interval_as_a_multiple_of_stability(target: float) -> None:
    memory = Memory(stability_days=3000.0, difficulty=5.0, last_day=DAY)
    assert interval_days(memory, target_recall=target) / 3000 == pytest.approx(MULTIPLES[target], abs=0.5 / 3000 + 5e-5)


@pytest.mark.parametrize("times", RECALLS)
def test_recall_at_multiples_of_stability(times: float) -> None:
    memory = Memory(stability_days=10.0, difficulty=5.0, last_day=DAY)
    assert recall(memory, day=DAY + timedelta(days=round(times * 10))) == pytest.approx(RECALLS[times], abs=6e-7)


@pytest.mark.parametrize("told", SAME_DAY)
def test_second_round_of_a_day_in_the_library(told: int) -> None:
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    noon = datetime(2030, 1, 1, 12, tzinfo=UTC)
    card, _ = scheduler.review_card(Card(card_id=1, due=noon), Rating.Good, noon)
    card, _ = scheduler.review_card(card, Rating(told), noon + timedelta(hours=5))
    assert (card.stability, card.difficulty) == (pytest.approx(SAME_DAY[told][0], abs=6e-7), pytest.approx(SAME_DAY[told][1], abs=6e-7))


def test_the_trap_that_noon_avoids_is_still_there() -> None:
    # 13 hours from evening to morning: the same day to the library, the next day to a learner.
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    evening = datetime(2030, 1, 1, 20, tzinfo=UTC)
    card, _ = scheduler.review_card(Card(card_id=1, due=evening), Rating.Good, evening)
    card, _ = scheduler.review_card(card, Rating.Good, evening + timedelta(hours=13))
    assert card.stability == pytest.approx(2.3065)
    memory = next_memory(next_memory(None, Outcome.HELD, day=DAY), Outcome.HELD, day=DAY + timedelta(days=1))
    assert memory.stability_days == pytest.approx(7.3153, abs=5e-5)
