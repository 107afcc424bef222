"""Two pictures side by side in the log: counted by themselves, rated nowhere, judged by what both are said to show now."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from drillhall.core.folding import LoggedAnswer, LoggedRound, LoggedShowing, fold_pair, judged_beside
from drillhall.core.kinds import beside, form
from drillhall.core.values import Rendition, Sure
from tests.core.lore import FIRST, PAIR, SECOND

AT = datetime(2031, 3, 3, 12, tzinfo=UTC)
ASK = beside.make_ask(asked_stands_first=True)


def answer(name: str, said: str, sure: Sure | None = None) -> LoggedAnswer:
    return LoggedAnswer(name, 0, said, sure, 4.0, hint=False, at=AT)


def two(*said: str) -> LoggedShowing:
    answers = tuple(answer(f"{number}", one) for number, one in enumerate(said))
    return LoggedShowing(9, 3, FIRST, (ASK,), True, False, False, Rendition.AS_TAKEN, "", answers)


def one(place: int, said: int) -> LoggedShowing:
    asks = (form.make_ask(PAIR, FIRST, neither=False),)
    return LoggedShowing(
        place, place, FIRST, asks, True, False, False, Rendition.AS_TAKEN, "", (answer(f"a{place}", str(said), Sure.CERTAIN),)
    )


def rounds(*showings: LoggedShowing) -> list[LoggedRound]:
    return [LoggedRound(1, date(2031, 3, 3), 6.0, showings)]


@pytest.mark.parametrize("said", ["1", "2"])
def test_it_changes_neither_memory_nor_tally_nor_prompts(said: str) -> None:
    alone, with_two = fold_pair(rounds(one(0, FIRST), one(1, FIRST))), fold_pair(rounds(one(0, FIRST), one(1, FIRST), two(said)))
    assert alone.memory is not None
    assert replace(with_two, besides={}) == alone
    assert with_two.besides == {(FIRST, 203110): (int(said == "2"), 1)}


def test_by_itself_it_is_no_round_and_of_repeats_the_first_counts() -> None:
    fold = fold_pair(rounds(two("2", "1")))
    assert (fold.memory, dict(fold.tally), fold.besides) == (None, {}, {(FIRST, 203110): (1, 1)})


def test_unanswered_it_counts_nowhere() -> None:
    assert fold_pair(rounds(one(0, SECOND), two())).besides == {}


@pytest.mark.parametrize(
    ("shown", "besides"),
    [
        ((FIRST, SECOND), {(FIRST, 203110): (0, 1)}),
        ((SECOND, FIRST), {(FIRST, 203110): (1, 1)}),
        ((FIRST, FIRST), {}),
        ((FIRST, None), {}),
        ((99, SECOND), {}),
    ],
    ids=["as planned", "labels swapped", "both of one form", "nobody can say", "of another pair"],
)
def test_relabelled_pictures_are_judged_anew(shown: tuple[int | None, int | None], besides: dict[tuple[int, int], tuple[int, int]]) -> None:
    assert fold_pair(rounds(judged_beside(two("1"), SECOND, shown))).besides == besides
