"""Fitting is an offer: made late, made seldom, and only where it foretells better; without its package it says what is lacking."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date, timedelta
from random import Random

import pytest

from drillhall.core.fitting import LEAST_ROUNDS, blended, fit_parameters, loss_from, offer_fitting
from drillhall.core.memory import USUAL_PARAMETERS, fold_rounds, interval_days, next_memory, recall, within_bounds
from drillhall.core.values import Memory, Outcome, RatedRound
from drillhall.errors import Invalid

START = date(2030, 1, 1)
QUICK_TO_FORGET = tuple(
    value / 4 if place < 4 else value - 1.2 if place == 8 else 0.4 if place == 20 else value for place, value in enumerate(USUAL_PARAMETERS)
)
"""A quarter of the usual first stability, growth that is 3.3 times slower, and a steeper curve."""


def logs_of_a_learner(parameters: tuple[float, ...], pairs: int, *, seed: int = 5) -> dict[int, list[RatedRound]]:
    """A learner whose memory follows those parameters, met on each pair when it fell due or a little off."""
    dice = Random(seed)
    logs: dict[int, list[RatedRound]] = {}
    for pair in range(pairs):
        day, memory, rounds = START + timedelta(days=dice.randrange(60)), None, []
        for _ in range(8):
            held = dice.random() < (0.6 if memory is None else recall(memory, day=day, parameters=parameters))
            rounds.append(RatedRound(day, Outcome.HELD if held else Outcome.MISSED))
            memory = next_memory(memory, rounds[-1].outcome, day=day, parameters=parameters)
            day += timedelta(days=max(1, round(interval_days(memory) * dice.uniform(0.7, 1.6))))
        logs[pair] = rounds
    return logs


def test_too_few_rounds_are_not_fitted() -> None:
    logs = logs_of_a_learner(QUICK_TO_FORGET, LEAST_ROUNDS // 8 - 1)
    assert offer_fitting(logs) is None


def test_a_learner_far_from_the_usual_is_made_an_offer() -> None:
    offer = offer_fitting(logs_of_a_learner(QUICK_TO_FORGET, 250))
    assert offer is not None
    assert offer.fitted_loss < offer.usual_loss
    assert offer.rounds + offer.judged_on <= 250 * 8  # first rounds cannot be foretold
    assert offer.parameters == within_bounds(offer.parameters)
    assert offer.parameters[8] < USUAL_PARAMETERS[8]  # her memory grows more slowly


def test_the_usual_numbers_stand_where_they_did_as_well() -> None:
    offer = offer_fitting(logs_of_a_learner(USUAL_PARAMETERS, 60, seed=3))
    assert offer is None or offer.usual_loss - offer.fitted_loss < 0.02


def test_nothing_to_fit_gives_the_usual_numbers() -> None:
    assert fit_parameters([]) == pytest.approx(USUAL_PARAMETERS, abs=1e-6)


def test_the_blend_grows_with_the_rounds() -> None:
    fitted = within_bounds([2 * value for value in USUAL_PARAMETERS])
    assert blended(fitted, 0) == USUAL_PARAMETERS
    assert blended(fitted, 800)[1] == pytest.approx((USUAL_PARAMETERS[1] + fitted[1]) / 2)


def test_parameters_out_of_bounds_are_clipped_and_too_few_refused() -> None:
    assert max(within_bounds([1e9] * 21)) == 100
    with pytest.raises(ValueError, match="zip"):
        within_bounds([1.0] * 19)


def test_own_parameters_go_through_the_whole_memory() -> None:
    rounds = [RatedRound(START, Outcome.HELD), RatedRound(START + timedelta(days=3), Outcome.HELD)]
    usual, own = fold_rounds(rounds), fold_rounds(rounds, parameters=QUICK_TO_FORGET)
    assert isinstance(usual, Memory)
    assert isinstance(own, Memory)
    assert own.stability_days < usual.stability_days
    assert interval_days(own, parameters=QUICK_TO_FORGET) < interval_days(usual)


def test_rounds_before_the_cut_are_not_judged() -> None:
    rounds = [RatedRound(START + timedelta(days=days), Outcome.HELD) for days in (0, 2, 9)]
    assert loss_from([rounds], START + timedelta(days=5), USUAL_PARAMETERS)[1] == 1
    assert loss_from([rounds], START + timedelta(days=50), USUAL_PARAMETERS) == (0.0, 0)


@pytest.fixture
def without_the_package() -> Iterator[None]:
    kept = sys.modules.get("fsrs_rs_python")
    sys.modules["fsrs_rs_python"] = None  # type: ignore[assignment]
    yield
    if kept is None:
        del sys.modules["fsrs_rs_python"]
    else:
        sys.modules["fsrs_rs_python"] = kept


@pytest.mark.usefixtures("without_the_package")
def test_without_its_package_it_says_what_to_install() -> None:
    with pytest.raises(Invalid, match=r"drillhall\[fitting\]"):
        fit_parameters([])
