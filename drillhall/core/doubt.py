"""Which label sure learners doubt: what a picture shows and how each learner errs, estimated together.

Source: A. P. Dawid and A. M. Skene 1979, Maximum likelihood estimation of observer error-rates using the EM algorithm,
Applied Statistics 28:20-28 (from memory). Two additions are ours. A picture's label counts beforehand, since it was given with
care. And a learner who has said little is taken to err as all do, until what she says tells otherwise: without that, one who has
seen two pictures would be found perfect.

A picture that misleads everybody looks the same from here as one that is wrongly named, so whoever reads this must look at it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log
from typing import Final

from drillhall.core.values import Sure

TRUST: Final = 0.95
"""How likely a label is right before anybody has said anything (common practice, no source)."""

BORROWED: Final = 4.0
"""As many answers of all learners are counted beside each learner's own (ours)."""

WEIGHTS: Final[Mapping[Sure, float]] = {Sure.CERTAIN: 1.0, Sure.PROBABLE: 0.5}
"""What an answer weighs: as its log odds do, ln(.80/.20) / ln(.95/.05) = .47; *possible* is too near a guess to doubt a label by."""

LEAST_LEARNERS: Final = 8
"""A picture is put before its steward only when so many learners have named it and were sure."""

DISPUTED_BELOW: Final = 0.5
"""And only when its label is more likely wrong than right."""

MOST_STEPS: Final = 100
SETTLED: Final = 1e-6
TINY: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Said:
    """What a learner said of a picture, as a class from 0 on, and what it weighs (> 0)."""

    picture: int
    learner: int
    said: int
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Estimate:
    """The chance of each class for each picture, and how likely each learner is to say each class (inner) of each (outer)."""

    pictures: Mapping[int, tuple[float, ...]]
    learners: Mapping[int, tuple[tuple[float, ...], ...]]


Rates = list[list[float]]


def estimate(
    said: Iterable[Said],
    *,
    classes: int,
    labels: Mapping[int, int] | None = None,
    trust: float = TRUST,
    borrowed: float = BORROWED,
    most_steps: int = MOST_STEPS,
) -> Estimate:
    """Estimate together what pictures show and how learners err.

    Parameters
    ----------
    said : answers, in any order; several of one learner to one picture all count
    classes : how many classes there are, at least 2
    labels : the class that each picture is labelled as; None: nothing is known beforehand, and how common each class is is
        estimated too, as Dawid and Skene do
    trust : chance that a label is right, beforehand (0 to 1, without the ends)
    borrowed : answers of all learners to count beside each learner's own; 0 is Dawid and Skene's own estimate
    most_steps : after so many steps it ends, settled or not

    Returns
    -------
    Estimate : one entry a picture and a learner that occur in `said`

    Raises
    ------
    ValueError : a class outside 0..classes-1, or a picture without a label where labels are given

    Source
    ------
    Dawid and Skene 1979, equations 2.3 to 2.5 (from memory).

    Examples
    --------
    >>> labels = {1: 0, 2: 0, 3: 1, 4: 1, 5: 0}  # the fifth is taken by everybody for the other form
    >>> told = [Said(picture, learner, said=label if picture < 5 else 1) for picture, label in labels.items() for learner in range(9)]
    >>> {picture: round(chances[labels[picture]], 2) for picture, chances in estimate(told, classes=2, labels=labels).pictures.items()}
    {1: 1.0, 2: 1.0, 3: 1.0, 4: 1.0, 5: 0.0}
    """
    answers = _gathered(said, classes)
    beliefs = _majorities(answers, classes)
    if labels is not None:
        if lacking := answers.keys() - labels.keys():
            raise ValueError(f"pictures without a label: {sorted(lacking)[:3]}")
        beliefs = {picture: _beforehand(labels[picture], classes, trust) for picture in answers}
    rates: dict[int, Rates] = {}
    for _ in range(most_steps):
        rates = _rates(answers, beliefs, classes, borrowed)
        common = _shares(beliefs, classes)
        new = {
            picture: _belief(given, rates, common if labels is None else _beforehand(labels[picture], classes, trust))
            for picture, given in answers.items()
        }
        moved = max((abs(a - b) for picture in new for a, b in zip(new[picture], beliefs[picture], strict=True)), default=0.0)
        beliefs = new
        if moved < SETTLED:
            break
    return Estimate(
        {picture: tuple(belief) for picture, belief in beliefs.items()},
        {learner: tuple(tuple(row) for row in table) for learner, table in rates.items()},
    )


def is_disputed(chance_right: float, learners: int) -> bool:
    """Whether a label is to be put before its steward: enough learners were sure, and it is more likely wrong than right.

    >>> is_disputed(0.2, 7), is_disputed(0.2, 8), is_disputed(0.5, 30)
    (False, True, False)
    """
    return learners >= LEAST_LEARNERS and chance_right < DISPUTED_BELOW


Gathered = dict[int, list[tuple[int, int, float]]]


def _gathered(said: Iterable[Said], classes: int) -> Gathered:
    answers: Gathered = defaultdict(list)
    for one in said:
        if not 0 <= one.said < classes:
            raise ValueError(f"class {one.said} is none of {classes}")
        answers[one.picture].append((one.learner, one.said, one.weight))
    return dict(answers)


def _majorities(answers: Gathered, classes: int) -> dict[int, list[float]]:
    """Begin with the share that each class has of a picture's answers."""
    beliefs = {}
    for picture, given in answers.items():
        shares = [0.0] * classes
        for _, said, weight in given:
            shares[said] += weight
        beliefs[picture] = _to_one(shares)
    return beliefs


def _beforehand(label: int, classes: int, trust: float) -> list[float]:
    return [trust if one == label else (1 - trust) / (classes - 1) for one in range(classes)]


def _shares(beliefs: Mapping[int, Sequence[float]], classes: int) -> list[float]:
    return _to_one([sum(belief[one] for belief in beliefs.values()) for one in range(classes)])


def _rates(answers: Gathered, beliefs: Mapping[int, Sequence[float]], classes: int, borrowed: float) -> dict[int, Rates]:
    """Return how likely each learner is to say each class of each, given what the pictures are believed to show."""
    counts: dict[int, Rates] = defaultdict(lambda: [[0.0] * classes for _ in range(classes)])
    for picture, given in answers.items():
        belief = beliefs[picture]
        for learner, said, weight in given:
            table = counts[learner]
            for true in range(classes):
                table[true][said] += weight * belief[true]
    if not borrowed:
        return {learner: [_to_one(row) for row in table] for learner, table in counts.items()}
    # One answer of each kind besides, so that what nobody has said yet is not held to be impossible.
    everybody = [_to_one([1 + sum(table[true][said] for table in counts.values()) for said in range(classes)]) for true in range(classes)]
    return {
        learner: [
            _to_one([own + borrowed * all_of_them for own, all_of_them in zip(row, everybody[true], strict=True)])
            for true, row in enumerate(table)
        ]
        for learner, table in counts.items()
    }


def _belief(given: Sequence[tuple[int, int, float]], rates: Mapping[int, Rates], beforehand: Sequence[float]) -> list[float]:
    """Return the chance of each class for a picture, by Bayes; in logs, since many small chances are multiplied."""
    logs = [log(max(share, TINY)) for share in beforehand]
    for learner, said, weight in given:
        table = rates[learner]
        for true in range(len(logs)):
            logs[true] += weight * log(max(table[true][said], TINY))
    top = max(logs)
    return _to_one([exp(one - top) for one in logs])


def _to_one(shares: Sequence[float]) -> list[float]:
    total = sum(shares)
    return [share / total for share in shares] if total else [1 / len(shares)] * len(shares)
