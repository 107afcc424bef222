"""Fits the scheduler to one learner's log, as an offer: made only where it foretells her latest rounds better than the usual numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import fsum, log
from typing import Any, Final

from drillhall.core.memory import USUAL_PARAMETERS, Parameters, next_memory, recall, told_for, within_bounds
from drillhall.core.values import Memory, RatedRound
from drillhall.errors import Invalid
from drillhall.words import say

LEAST_ROUNDS: Final = 400
"""With fewer rated rounds a fit is worse than the usual numbers more often than not; from our own trials with simulated learners."""

BLEND_ROUNDS: Final = 800
"""A fit to n rounds counts n / (n + 800), the usual numbers the rest; from the same trials."""

KEPT_FOR_JUDGING: Final = 0.2
_LEAST_CHANCE: Final = 1e-3


@dataclass(frozen=True, slots=True)
class FittingOffer:
    """Parameters of her own that a learner may take: how many rounds they were fitted to, and how well either set foretold the rest.

    A loss is the mean log loss over her latest rounds, a fifth of all; the lower the better.
    """

    parameters: Parameters
    rounds: int
    judged_on: int
    usual_loss: float
    fitted_loss: float


def offer_fitting(logs: Mapping[int, Sequence[RatedRound]]) -> FittingOffer | None:
    """Fit to the first four fifths of a learner's rounds and offer the blend only if it foretells the last fifth better.

    Parameters
    ----------
    logs : pair id to its rated rounds in day order.

    Returns
    -------
    FittingOffer, or None: too few rounds, or the usual numbers did as well.

    Raises
    ------
    Invalid: the package that fits is not installed.

    Source
    ------
    Split by time, as in the published comparison of schedulers (open-spaced-repetition/srs-benchmark); blend and least number ours.

    >>> offer_fitting({}) is None
    True
    """
    days = sorted(rated.day for rounds in logs.values() for rated in rounds)
    if len(days) < LEAST_ROUNDS:
        return None
    cut = days[int(len(days) * (1 - KEPT_FOR_JUDGING))]
    earlier = [[rated for rated in rounds if rated.day < cut] for rounds in logs.values()]
    fitted_to = sum(len(rounds) for rounds in earlier)
    parameters = blended(fit_parameters([rounds for rounds in earlier if rounds]), fitted_to)
    usual, judged_on = loss_from(logs.values(), cut, USUAL_PARAMETERS)
    fitted, _ = loss_from(logs.values(), cut, parameters)
    if not judged_on or fitted >= usual:
        return None
    return FittingOffer(parameters, fitted_to, judged_on, usual_loss=usual, fitted_loss=fitted)


def blended(fitted: Parameters, rounds: int) -> Parameters:
    """Return parameters between the usual ones and the fitted ones: the more rounds, the nearer the fitted.

    >>> blended(tuple(2 * value for value in USUAL_PARAMETERS), 0) == USUAL_PARAMETERS
    True
    """
    share = rounds / (rounds + BLEND_ROUNDS)
    return within_bounds([usual + share * (own - usual) for usual, own in zip(USUAL_PARAMETERS, fitted, strict=True)])


def fit_parameters(logs: Sequence[Sequence[RatedRound]]) -> Parameters:
    """Fit the scheduler's parameters to rated rounds, from the usual ones on; few rounds change little or nothing.

    Parameters
    ----------
    logs : the rated rounds of each pair, in day order.

    Returns
    -------
    Parameters: within the library's bounds.

    Raises
    ------
    Invalid: the package that fits is not installed.

    Source
    ------
    `fsrs-rs-python` 0.9, gradient descent on the log loss of rounds held; an extra of ours, called "fitting".
    """
    library = _fitting_library()
    items = []
    for rounds in logs:
        gaps = [0, *((later.day - earlier.day).days for earlier, later in pairwise(rounds))]
        told = [library.FSRSReview(told_for(rated.outcome), gap) for rated, gap in zip(rounds, gaps, strict=True)]
        items += [library.FSRSItem(told[:until]) for until in range(2, len(told) + 1)]
    return within_bounds(library.FSRS(list(USUAL_PARAMETERS)).compute_parameters(items))


def loss_from(logs: Iterable[Sequence[RatedRound]], cut: date, parameters: Parameters) -> tuple[float, int]:
    """Return the mean log loss of foretelling the rounds from a day on, and how many there were; first rounds cannot be foretold.

    >>> from drillhall.core.values import Outcome
    >>> rounds = [RatedRound(date(2030, 5, 1), Outcome.HELD), RatedRound(date(2030, 5, 3), Outcome.HELD)]
    >>> loss, judged_on = loss_from([rounds], date(2030, 5, 2), USUAL_PARAMETERS)
    >>> round(loss, 2), judged_on
    (0.09, 1)
    """
    losses = []
    for rounds in logs:
        memory: Memory | None = None
        for rated in rounds:
            if memory is not None and rated.day >= cut:
                chance = min(max(recall(memory, day=rated.day, parameters=parameters), _LEAST_CHANCE), 1 - _LEAST_CHANCE)
                losses.append(-log(chance if rated.outcome.was_held else 1 - chance))
            memory = next_memory(memory, rated.outcome, day=rated.day, parameters=parameters)
    return (fsum(losses) / len(losses) if losses else 0.0, len(losses))


def refuse_without_library() -> None:
    """Raise Invalid where the package that fits is not installed."""
    _fitting_library()


def _fitting_library() -> Any:
    """Return the package that fits; it is an extra, so it is looked for only when it is needed."""
    try:
        import fsrs_rs_python
    except ImportError:
        raise Invalid(
            say(
                'Parameters can be fitted only where the extra "fitting" is installed: pip install '
                '"drillhall[fitting]". Until then the usual ones stand.'
            ),
            field="fitting",
        ) from None
    return fsrs_rs_python
