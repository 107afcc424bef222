"""What is still to come of a round and of a drill after a miss."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.rounds.misses import AfterMiss, RoundSoFar, left_of_drill, still_to_come

OPEN = (False, False, False)
SPARE = RoundSoFar(OPEN, after_miss=AfterMiss.END, spare=True)


def ends(*answered: bool, missed: bool = False) -> RoundSoFar:
    return RoundSoFar(answered, missed=missed, after_miss=AfterMiss.END)


def test_a_round_that_is_finished_goes_on_after_a_miss() -> None:
    assert still_to_come(("b", "c"), [False], after_miss=AfterMiss.FINISH) == ("b", "c")
    assert left_of_drill([RoundSoFar((True, False), missed=True)]) == ((False, True),)


def test_a_spare_picture_is_shown_after_a_miss_alone() -> None:
    assert still_to_come(("c", "spare"), [False, True], after_miss=AfterMiss.STAY) == ("c", "spare")


def test_a_miss_ends_its_round_and_no_other() -> None:
    assert left_of_drill([ends(True, False, False, missed=True), ends(*OPEN)]) == (OPEN, (True, True, True))


def test_a_spare_round_waits_until_there_is_room_for_the_whole_of_it() -> None:
    one_miss = [ends(True, False, False, missed=True), ends(*OPEN), SPARE]
    two_misses = [ends(True, False, False, missed=True), ends(True, False, False, missed=True), SPARE]
    assert left_of_drill(one_miss)[2] == OPEN
    assert left_of_drill(two_misses)[2] == (True, True, True)


def test_a_spare_round_begun_is_finished_even_if_the_room_is_gone() -> None:
    """Answers given on another device have come in meanwhile."""
    begun = RoundSoFar((True, False, False), after_miss=AfterMiss.END, spare=True)
    assert left_of_drill([ends(True, True, True), begun])[1] == (False, True, True)


def test_a_miss_in_a_spare_round_ends_it_too() -> None:
    missed = RoundSoFar((True, False, False), missed=True, after_miss=AfterMiss.END, spare=True)
    assert left_of_drill([ends(True, False, False, missed=True), missed]) == (OPEN, OPEN)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(2, 6), min_size=1, max_size=8),
    st.lists(st.integers(2, 6), max_size=4),
    st.randoms(use_true_random=False),
)
def test_a_drill_never_grows_longer_than_planned(lengths: list[int], spares: list[int], dice) -> None:  # type: ignore[no-untyped-def]
    """Played to its end with misses thrown, it shows no more pictures than planned and leaves none that is still to come."""
    rounds = [
        RoundSoFar((False,) * length, after_miss=AfterMiss.END, spare=number >= len(lengths))
        for number, length in enumerate([*lengths, *spares])
    ]
    while any(any(left) for left in left_of_drill(rounds)):
        number = next(place for place, left in enumerate(left_of_drill(rounds)) if any(left))
        at = left_of_drill(rounds)[number].index(True)
        answered = tuple(done or place == at for place, done in enumerate(rounds[number].answered))
        rounds[number] = RoundSoFar(answered, dice.random() < 0.3, AfterMiss.END, rounds[number].spare)
    assert sum(sum(one.answered) for one in rounds) <= sum(lengths)
    assert all(all(one.answered) or one.missed for one in rounds if not one.spare)
