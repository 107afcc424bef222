"""A trial counts as one round: held with ease, missed, or nothing while it is undecided; and what recall was before each round."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from drillhall.core.folding import LoggedAnswer, LoggedRound, LoggedShowing, fold_pair
from drillhall.core.memory import USUAL_PARAMETERS, recall
from drillhall.core.values import Ask, Outcome, Rendition, Sure

DAY = date(2031, 3, 3)
NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)
ASK = Ask("form", ("1", "2"), "1")


def a_round(rights: str, *, day: int = 0, trial: bool = True, hint: bool = False) -> LoggedRound:
    """Return a round answered rightly (r), wrongly (w) or not yet (.)."""
    at = NOON + timedelta(days=day)
    showings = []
    for place, right in enumerate(rights):
        said = {"r": "1", "w": "2"}.get(right)
        answer = LoggedAnswer(f"{day}-{place}", 0, said or "", Sure.POSSIBLE, 90.0, hint, at + timedelta(seconds=place))
        showings.append(
            LoggedShowing(
                id=place,
                place=place,
                form_id=1,
                asks=(ASK,),
                fresh=True,
                prompted=False,
                third=False,
                rendition=Rendition.AS_TAKEN,
                orientation="",
                answers=(answer,) if said else (),
            )
        )
    return LoggedRound(day, DAY + timedelta(days=day), 8.0, tuple(showings), is_trial=trial)


@pytest.mark.parametrize(
    ("rights", "outcome"),
    [
        ("rrrrr.....", Outcome.EASE),
        ("ww........", Outcome.MISSED),
        ("rrrrrwwwww", Outcome.EASE),  # what comes after the end changes nothing
        ("rwrwrwrwrw", Outcome.MISSED),
    ],
)
def test_a_trial_that_is_over_is_one_round(rights: str, outcome: Outcome) -> None:
    assert [rated.outcome for rated in fold_pair([a_round(rights)]).rated] == [outcome]


@pytest.mark.parametrize("rights", ["rrrr......", "w.........", "r.r.r.r..."])
def test_a_trial_left_undecided_is_not_rated_yet_its_answers_count(rights: str) -> None:
    fold = fold_pair([a_round(rights)])
    assert fold.memory is None
    assert sum(fold.tally.values()) == len(rights.replace(".", ""))


def test_help_passes_nobody() -> None:
    assert fold_pair([a_round("rrrrr", hint=True)]).rated[0].outcome is Outcome.MISSED


def test_the_same_answers_in_a_round_of_a_drill_are_graded_as_ever() -> None:
    assert fold_pair([a_round("rrrrr", trial=False)]).rated[0].outcome is Outcome.UNSURE


def test_of_a_drill_and_a_trial_on_one_day_the_first_counts() -> None:
    trial = a_round("rrrrr")
    earlier = LoggedRound(9, DAY, 8.0, tuple(_an_hour_before(showing) for showing in a_round("ww").showings), is_trial=False)
    assert [rated.outcome for rated in fold_pair([trial, earlier]).rated] == [Outcome.MISSED]


def _an_hour_before(showing: LoggedShowing) -> LoggedShowing:
    return replace(showing, answers=tuple(replace(one, id=f"before-{one.id}", at=one.at - timedelta(hours=1)) for one in showing.answers))


def test_recall_is_told_as_it_was_before_each_round() -> None:
    rounds = [a_round("rrr", day=0, trial=False), a_round("rrr", day=2, trial=False), a_round("www", day=9, trial=False)]
    first, second = fold_pair(rounds[:1]).memory, fold_pair(rounds[:2]).memory
    assert first is not None
    assert second is not None
    expected = ((recall(first, day=DAY + timedelta(days=2)), True), (recall(second, day=DAY + timedelta(days=9)), False))
    assert fold_pair(rounds).recalled == expected
    assert fold_pair(rounds[:1]).recalled == ()


def test_numbers_of_her_own_change_the_memory_and_not_the_rounds() -> None:
    rounds = [a_round("rrr", day=0, trial=False), a_round("rrr", day=2, trial=False)]
    own = (USUAL_PARAMETERS[0], USUAL_PARAMETERS[1] * 2, *USUAL_PARAMETERS[2:])
    usual, hers = fold_pair(rounds), fold_pair(rounds, parameters=own)
    assert usual.rated == hers.rated
    assert usual.memory != hers.memory
