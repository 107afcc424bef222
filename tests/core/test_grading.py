"""From the answers of a round to its outcome."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.grading import grade_round
from drillhall.core.values import GivenAnswer, Outcome, Sure

CERTAIN = GivenAnswer(right=True, sure=Sure.CERTAIN, seconds=4.0)
PROBABLE = replace(CERTAIN, sure=Sure.PROBABLE)
POSSIBLE = replace(CERTAIN, sure=Sure.POSSIBLE)
WRONG = replace(CERTAIN, right=False)
HINTED = replace(CERTAIN, hint=True)
THIRD = replace(CERTAIN, rated=False)
PACE = 8.0

ANSWERS = st.builds(
    GivenAnswer,
    right=st.booleans(),
    sure=st.sampled_from(list(Sure)),
    seconds=st.floats(0, 600),
    hint=st.booleans(),
    rated=st.booleans(),
)
BEFORE = st.sampled_from([None, *Outcome])


def grade(*answers: GivenAnswer, showings: int = 3, pace: float | None = PACE, before: Outcome | None = Outcome.HELD) -> Outcome | None:
    """Grade a round of three after one that was held."""
    return grade_round(answers, showings=showings, pace_seconds=pace, before=before)


def test_all_certain_and_quick_after_a_held_round_is_ease() -> None:
    assert grade(CERTAIN, CERTAIN, CERTAIN) is Outcome.EASE


@pytest.mark.parametrize("before", [Outcome.UNSURE, Outcome.HELD, Outcome.EASE])
def test_ease_follows_any_held_round(before: Outcome) -> None:
    assert grade(CERTAIN, CERTAIN, CERTAIN, before=before) is Outcome.EASE


@pytest.mark.parametrize("before", [None, Outcome.MISSED])
def test_no_ease_in_the_first_round_or_after_a_miss(before: Outcome | None) -> None:
    assert grade(CERTAIN, CERTAIN, CERTAIN, before=before) is Outcome.HELD


def test_no_ease_with_one_merely_probable() -> None:
    assert grade(CERTAIN, PROBABLE, CERTAIN) is Outcome.HELD


@pytest.mark.parametrize("seconds", [8.0, 8.1, 600.0])
def test_no_ease_at_the_pace_or_slower(seconds: float) -> None:
    assert grade(*[replace(CERTAIN, seconds=seconds)] * 3) is Outcome.HELD


def test_one_interrupted_answer_does_not_make_a_round_slow() -> None:
    assert grade(CERTAIN, replace(CERTAIN, seconds=900.0), CERTAIN) is Outcome.EASE


def test_nothing_is_quick_without_a_known_pace() -> None:
    assert grade(CERTAIN, CERTAIN, CERTAIN, pace=None) is Outcome.HELD


@pytest.mark.parametrize(
    ("answers", "outcome"),
    [
        ((POSSIBLE, POSSIBLE, CERTAIN), Outcome.UNSURE),
        ((POSSIBLE, CERTAIN, CERTAIN), Outcome.HELD),
        ((POSSIBLE, POSSIBLE, CERTAIN, CERTAIN), Outcome.HELD),  # half is not most
        ((POSSIBLE, POSSIBLE, POSSIBLE, CERTAIN), Outcome.UNSURE),
        ((HINTED, CERTAIN, CERTAIN), Outcome.UNSURE),
        ((PROBABLE, PROBABLE, PROBABLE), Outcome.HELD),
    ],
)
def test_hints_and_most_possible_make_it_unsure(answers: tuple[GivenAnswer, ...], outcome: Outcome) -> None:
    assert grade(*answers, showings=len(answers)) is outcome


def test_a_miss_decides_before_the_round_is_finished() -> None:
    assert grade(WRONG) is Outcome.MISSED
    assert grade(CERTAIN, WRONG) is Outcome.MISSED


def test_unfinished_without_a_miss_is_not_graded() -> None:
    assert grade() is None
    assert grade(CERTAIN, HINTED) is None


def test_thirds_are_not_rated_whatever_was_said() -> None:
    bad = replace(THIRD, right=False, hint=True, sure=Sure.POSSIBLE, seconds=900.0)
    assert grade(bad, CERTAIN, bad, CERTAIN, CERTAIN) is Outcome.EASE
    assert grade(bad, CERTAIN, CERTAIN) is None


def test_thirds_alone_have_nothing_to_grade() -> None:
    assert grade(THIRD, THIRD, showings=0) is None


@pytest.mark.parametrize("showings", [-1, 0, 2])
def test_more_rated_answers_than_showings_are_refused(showings: int) -> None:
    with pytest.raises(ValueError, match="do not fit"):
        grade(CERTAIN, CERTAIN, CERTAIN, showings=showings)


@given(st.lists(ANSWERS, max_size=6), BEFORE)
def test_missed_exactly_when_a_rated_answer_is_wrong(answers: list[GivenAnswer], before: Outcome | None) -> None:
    outcome = grade(*answers, showings=6, before=before)
    assert (outcome is Outcome.MISSED) == any(answer.rated and not answer.right for answer in answers)


@given(st.lists(ANSWERS, min_size=1, max_size=6), BEFORE, st.randoms(use_true_random=False))
def test_order_of_answers_does_not_matter(answers: list[GivenAnswer], before: Outcome | None, dice: Random) -> None:
    shuffled = list(answers)
    dice.shuffle(shuffled)
    assert grade(*answers, showings=6, before=before) is grade(*shuffled, showings=6, before=before)


@given(st.lists(ANSWERS.map(lambda answer: replace(answer, right=True, rated=True)), min_size=2, max_size=6), st.data(), BEFORE)
def test_asking_for_help_never_betters_the_outcome(answers: list[GivenAnswer], data: st.DataObject, before: Outcome | None) -> None:
    place = data.draw(st.integers(0, len(answers) - 1))
    helped = [replace(answer, hint=answer.hint or at == place) for at, answer in enumerate(answers)]
    order = list(Outcome)
    plain = grade(*answers, showings=len(answers), before=before)
    with_help = grade(*helped, showings=len(answers), before=before)
    assert plain is not None
    assert with_help is not None
    assert order.index(with_help) <= order.index(plain)
