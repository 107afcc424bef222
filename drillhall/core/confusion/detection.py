"""Takes sensitivity apart from bias: d′ and the criterion of one picture with two names, and d′ of two pictures side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist
from typing import Final

from drillhall.core.values import Rendition, TallyKey

LEAST_ANSWERS: Final = 10
"""Below so many answers a form, an estimate of d′ is mostly its own error and ceiling; counts are shown alone."""

_NORMAL: Final = NormalDist()


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """How well two forms are told apart, and which name comes too easily.

    d_prime: distance in standard deviations, 0 for chance; criterion: above 0 if the *second* form's name comes too easily,
    below 0 if the first's does.
    """

    d_prime: float
    criterion: float


def log_linear(count: int, total: int) -> float:
    """Return a proportion that is never 0 or 1, so that its normal score exists.

    Parameters
    ----------
    count : 0 to `total`.
    total : 0 or more.

    Returns
    -------
    float: (count + 0.5) / (total + 1), strictly between 0 and 1.

    Raises
    ------
    ValueError: counts out of range.

    Source
    ------
    Hautus (1995), Corrections for extreme proportions and their biasing effects on estimated values of d′,
    Behav Res Methods 27:46; applied to every cell, extreme or not.

    >>> round(log_linear(20, 20), 5)
    0.97619
    """
    if not 0 <= count <= total:
        raise ValueError(f"{count} of {total} is no count")
    return (count + 0.5) / (total + 1)


def sensitivity(*, hits: int, shown_first: int, false_alarms: int, shown_second: int, least: int = LEAST_ANSWERS) -> Sensitivity | None:
    """Return d′ and criterion of a one-interval task: one picture, two names.

    Parameters
    ----------
    hits : first form shown and named; 0 to `shown_first`.
    shown_first : showings of the first form with two choices.
    false_alarms : second form shown and the first named; 0 to `shown_second`.
    shown_second : showings of the second form with two choices.
    least : answers a form below which nothing is said.

    Returns
    -------
    Sensitivity, or None where either form has fewer answers than `least`.

    Raises
    ------
    ValueError: counts out of range.

    Source
    ------
    Macmillan and Creelman, Detection Theory: d′ = z(H) − z(F), c = −(z(H) + z(F)) / 2 (from memory); log-linear correction
    of Hautus (1995). Never for two pictures side by side: see `forced_choice_sensitivity`.

    >>> told = sensitivity(hits=82, shown_first=100, false_alarms=46, shown_second=100)
    >>> round(told.d_prime, 6), round(told.criterion, 6)
    (1.002793, -0.40196)
    """
    hit_score = _NORMAL.inv_cdf(log_linear(hits, shown_first))
    false_score = _NORMAL.inv_cdf(log_linear(false_alarms, shown_second))
    if min(shown_first, shown_second) < least:
        return None
    return Sensitivity(d_prime=hit_score - false_score, criterion=-(hit_score + false_score) / 2)


def told_apart(form_ids: tuple[int, int], tally: Mapping[TallyKey, int], *, least: int = LEAST_ANSWERS) -> Sensitivity | None:
    """Return d′ and criterion of a pair from a tally; only showings with two choices count, as taken.

    Parameters
    ----------
    form_ids : the pair's forms, first and second.
    tally : counts of one learner (or several) and that pair.
    least : answers a form below which nothing is said.

    Returns
    -------
    Sensitivity, or None where either form has fewer answers than `least`.

    Raises
    ------
    ValueError: as `sensitivity`.

    >>> told_apart((1, 2), {}) is None
    True
    """
    first, second = form_ids
    named_first = {first: 0, second: 0}
    shown = {first: 0, second: 0}
    for key, count in tally.items():
        if key.choices == 2 and key.shown_form_id in shown and key.rendition is Rendition.AS_TAKEN:
            shown[key.shown_form_id] += count
            named_first[key.shown_form_id] += count if key.said_form_id == first else 0
    return sensitivity(
        hits=named_first[first], shown_first=shown[first], false_alarms=named_first[second], shown_second=shown[second], least=least
    )


def forced_choice_sensitivity(right_rate: float) -> float:
    """Return d′ of a forced choice: two pictures side by side, one of each form.

    Parameters
    ----------
    right_rate : proportion right, strictly between 0 and 1 (take `log_linear` of the counts).

    Returns
    -------
    float: √2 · z(proportion right); below 0 for less than chance.

    Raises
    ------
    ValueError: a proportion of 0, 1, or beyond.

    Source
    ------
    Macmillan and Creelman, Detection Theory, two-alternative forced choice (from memory); unbiased.

    >>> round(forced_choice_sensitivity(0.75), 6)
    0.953873
    """
    if not 0 < right_rate < 1:
        raise ValueError(f"a proportion of {right_rate} has no normal score; correct the counts first")
    return sqrt(2) * _NORMAL.inv_cdf(right_rate)
