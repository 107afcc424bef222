"""Two forms that became one: what must hold of a history told through them, whatever the log and in whatever order they were joined."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.folding import LoggedRound, fold_pair
from drillhall.core.joining import StandsFor, renamed
from tests.core.lore import FIRST, SECOND
from tests.core.test_properties import logs

OTHER = 99
"""A form that FIRST stands for, since the two became one."""


def told(rounds: list[LoggedRound], stands_for: StandsFor, *, apart: tuple[int, int] = (FIRST, SECOND)) -> list[LoggedRound]:
    return [
        replace(
            one, showings=tuple(renamed(shown, next(side for side in apart if side != shown.form_id), stands_for) for shown in one.showings)
        )
        for one in rounds
    ]


def as_other(rounds: list[LoggedRound], name: int = OTHER) -> list[LoggedRound]:
    """Return the rounds as if they had been asked of another form in the place of FIRST."""
    return told(rounds, {str(FIRST): str(name)})


@given(logs(), logs())
@settings(max_examples=25)
def test_two_histories_joined_are_one_in_order_of_time(hers: list[LoggedRound], more: list[LoggedRound]) -> None:
    later = [replace(one, id=one.id + 100, day=one.day + timedelta(days=2)) for one in more]
    joined = told(as_other(later), {str(OTHER): str(FIRST)}, apart=(OTHER, SECOND))
    assert fold_pair([*hers, *joined]) == fold_pair([*joined, *hers]) == fold_pair([*hers, *later])
    assert sum(fold_pair([*hers, *joined]).tally.values()) == sum(fold_pair(hers).tally.values()) + sum(fold_pair(later).tally.values())


@given(logs())
@settings(max_examples=25)
def test_joining_with_an_empty_history_changes_nothing_but_the_name(rounds: list[LoggedRound]) -> None:
    assert told(rounds, {}) == rounds
    assert told(rounds, {str(OTHER): str(FIRST)}) == rounds
    there, back = fold_pair(as_other(rounds)), fold_pair(told(as_other(rounds), {str(OTHER): str(FIRST)}, apart=(OTHER, SECOND)))
    assert back == fold_pair(rounds)
    assert (there.memory, there.rated) == (back.memory, back.rated)


@given(logs(), st.permutations([("99", "98"), ("98", str(FIRST))]))
@settings(max_examples=25)
def test_it_is_all_one_which_two_of_three_were_joined_first(rounds: list[LoggedRound], order: list[tuple[str, str]]) -> None:
    stands: dict[str, str] = {}
    for lost, kept in order:
        stands = {one: (stands.get(kept, kept) if by == lost else by) for one, by in stands.items()} | {lost: stands.get(kept, kept)}
    assert fold_pair(told(as_other(rounds), stands, apart=(OTHER, SECOND))) == fold_pair(rounds)


@given(logs())
@settings(max_examples=25)
def test_a_pair_of_which_both_became_one_counts_for_nothing(rounds: list[LoggedRound]) -> None:
    nothing = fold_pair(told(rounds, {str(SECOND): str(FIRST)}))
    assert (nothing.memory, nothing.tally, nothing.rated, nothing.prompts) == (None, {}, (), {})
