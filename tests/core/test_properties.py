"""What must hold of the engine whatever the log: order of arrival, replaying, growth, fading, turns, guessers, and names."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.confusion import directions
from drillhall.core.folding import LoggedAnswer, LoggedRound, LoggedShowing, fold_pair
from drillhall.core.kinds import form as form_kind
from drillhall.core.memory import due_day, interval_days, next_memory, recall
from drillhall.core.pairs import standing
from drillhall.core.rounds import build_round, plan_drill
from drillhall.core.traits import order_of_telling
from drillhall.core.values import (
    Candidate,
    DrillWish,
    FreshAnswer,
    Memory,
    Outcome,
    Pair,
    PairLore,
    PairToday,
    Rendition,
    RoundNeeds,
    Standing,
    Sure,
    TallyKey,
)
from tests.core.lore import FIRST, PAIR, SECOND, lore_of, parted, trait

TODAY = date(2031, 5, 4)
NOON = datetime(2031, 5, 4, 12, tzinfo=UTC)
OUTCOMES = st.lists(st.sampled_from(list(Outcome)), min_size=1, max_size=8)


@st.composite
def logs(draw: st.DrawFn) -> list[LoggedRound]:
    """Rounds of some days, one or two a day, each answer at its own instant; some questions answered twice."""
    rounds, number = [], 0
    for day in range(draw(st.integers(1, 5))):
        for turn in range(draw(st.integers(1, 2))):
            showings = []
            for place in range(3):
                number += 1
                shown = draw(st.sampled_from([FIRST, SECOND]))
                at = NOON + timedelta(days=day, hours=turn, seconds=place)
                given_answers = [
                    LoggedAnswer(
                        f"{number}-{again}",
                        0,
                        str(draw(st.sampled_from([FIRST, SECOND]))),
                        draw(st.sampled_from(list(Sure))),
                        draw(st.sampled_from([2.0, 9.0])),
                        draw(st.booleans()),
                        at + timedelta(minutes=again),
                    )
                    for again in range(draw(st.integers(1, 2)))
                ]
                ask = form_kind.make_ask(PAIR, shown, neither=False)
                showings.append(
                    LoggedShowing(number, place, shown, (ask,), True, False, False, Rendition.AS_TAKEN, "", tuple(given_answers))
                )
            rounds.append(LoggedRound(len(rounds) + 1, TODAY + timedelta(days=day), 6.0, tuple(showings)))
    return rounds


@given(logs(), st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_memory_and_tally_do_not_depend_on_the_order_of_arrival(rounds: list[LoggedRound], dice: Random) -> None:
    mixed = []
    for logged in rounds:
        showings = [replace(one, answers=tuple(dice.sample(one.answers, len(one.answers)))) for one in logged.showings]
        mixed.append(replace(logged, showings=tuple(dice.sample(showings, len(showings)))))
    dice.shuffle(mixed)
    assert fold_pair(mixed) == fold_pair(rounds)


@given(logs())
@settings(max_examples=30)
def test_replaying_gives_the_same(rounds: list[LoggedRound]) -> None:
    assert fold_pair(rounds) == fold_pair(list(rounds))


@given(OUTCOMES)
def test_an_interval_grows_with_every_success_on_its_day(before: list[Outcome]) -> None:
    memory: Memory | None = None
    day = TODAY
    for outcome in before:
        memory = next_memory(memory, outcome, day=day)
        day += timedelta(days=interval_days(memory))
    assert memory is not None
    held = next_memory(memory, Outcome.HELD, day=day)
    assert held.stability_days > memory.stability_days
    assert interval_days(held) >= interval_days(memory)


@given(OUTCOMES, st.integers(0, 4000), st.integers(1, 4000))
def test_recall_is_a_chance_and_falls_with_time(outcomes: list[Outcome], days: int, more: int) -> None:
    memory: Memory | None = None
    for number, outcome in enumerate(outcomes):
        memory = next_memory(memory, outcome, day=TODAY + timedelta(days=3 * number))
    assert memory is not None
    near, far = (recall(memory, day=memory.last_day + timedelta(days=passed)) for passed in (days, days + more))
    assert 0 <= far < near <= 1


@pytest.mark.parametrize("seed", range(4))
def test_no_pair_starves(seed: int) -> None:
    """Sixteen pairs at four rounds a day: each has its turn within three weeks, however the others go."""
    dice = Random(seed)
    pairs = {number: PairToday(number, 2 * number, 2 * number + 1, stage=(0, number)) for number in range(1, 17)}
    last = dict.fromkeys(pairs, -1)
    for day in range(60):
        today = TODAY + timedelta(days=day)
        planned = plan_drill(list(pairs.values()), DrillWish(minutes=3, seconds_a_showing=15), today=today, dice=dice)
        drilled = {turn.pair_id for turn in planned}
        for number, pair in pairs.items():
            recent = pair.recent_pictures * 0.93 + 3 * (number in drilled)
            if number in drilled:
                last[number] = day
                outcome = Outcome.MISSED if number <= 8 or dice.random() < 0.3 else Outcome.HELD
                memory = next_memory(pair.memory, outcome, day=today)
                due = due_day(memory, account_id=seed, pair_id=number)
                rate = 0.45 if number <= 8 else 0.1
                pair = replace(pair, memory=memory, met=True, due_day=due, mixup_rate=rate)
            pairs[number] = replace(pair, recent_pictures=recent)
        late = [number for number, pair in pairs.items() if pair.due_day is not None and (today - pair.due_day).days > 21]
        assert late == []
    assert min(last.values()) >= 0


MANNERS = {
    "coin": lambda dice, _: dice.choice([FIRST, SECOND]),
    "always the first": lambda _dice, _shown: FIRST,
    "what came before": lambda dice, shown: shown[-1] if shown else FIRST,
    "what did not come": lambda dice, shown: (FIRST + SECOND - shown[-1]) if shown else FIRST,
}


@pytest.mark.parametrize("manner", MANNERS)
def test_a_guesser_is_never_field_ready(manner: str) -> None:
    """Forty guessers of each manner, 400 fresh answers each; a coin's chance at 9 of 9 both ways is 1 in 262,144."""
    for seed in range(40):
        dice = Random(seed)
        memory = Memory(30.0, 2.0, TODAY, rounds=9, held_running=9)  # as if the scheduler had been taken in as well
        shown: list[int] = []
        fresh: list[FreshAnswer] = []
        for _ in range(400):
            said = MANNERS[manner](dice, shown)
            shown.append(dice.choice([FIRST, SECOND]))
            fresh.append(FreshAnswer(shown[-1], said == shown[-1], TODAY, 9))
            assert standing(memory, met=True, today=TODAY, fresh=fresh) is not Standing.FIELD_READY


def turned(lore: PairLore) -> PairLore:
    """The same lore with the names of the two forms exchanged."""
    first, second = lore.pair.first, lore.pair.second
    names = (replace(first, name=second.name, scientific_name=second.scientific_name), replace(second, name=first.name))
    return replace(lore, pair=Pair(lore.pair.id, *names))


@given(st.integers(0, 10_000), st.floats(0.55, 0.98))
@settings(max_examples=30)
def test_exchanging_the_names_changes_nothing_but_the_names(seed: int, sure: float) -> None:
    lore = lore_of((trait("bill"), parted(sure), parted(1 - sure)), (trait("leg"), parted(0.9), parted(0.2)))
    candidates = [Candidate(number, FIRST if number < 9 else SECOND) for number in range(1, 17)]
    one, other = (build_round(RoundNeeds(told, 4), candidates, now=NOON, dice=Random(seed)) for told in (lore, turned(lore)))
    assert one == other
    assert order_of_telling(lore) == order_of_telling(turned(lore))


@given(st.integers(0, 30), st.integers(0, 30), st.integers(0, 30), st.integers(0, 30))
def test_exchanging_the_sides_exchanges_the_directions(aa: int, ab: int, bb: int, ba: int) -> None:
    def tally(first: int, second: int) -> dict[TallyKey, int]:
        cells = ((first, first, aa), (first, second, ab), (second, second, bb), (second, first, ba))
        return {TallyKey(shown, said, 203101, True, False, Rendition.AS_TAKEN, "", 2): count for shown, said, count in cells if count}

    one = directions((FIRST, SECOND), tally(FIRST, SECOND), week_now=203104)
    other = directions((FIRST, SECOND), tally(SECOND, FIRST), week_now=203104)
    for before, after in zip(one, reversed(other), strict=True):
        assert replace(after, shown_form_id=before.shown_form_id) == before
