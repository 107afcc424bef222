"""New answers folded on to what the log came to give what folding the whole log gives, to the last unit, or are not folded on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.folding import LoggedAnswer, LoggedRound, LoggedShowing, PairFold, began, fold_pair
from drillhall.core.folding_on import FoldedOn, TouchedRound, fold_on
from drillhall.core.values import Ask, Outcome, Rendition, Sure

DAY, NOON = date(2031, 3, 3), datetime(2031, 3, 3, 12, tzinfo=UTC)
FORM, TRAIT, BESIDE = Ask("form", ("1", "2"), "1"), Ask("trait", ("10", "11"), "10", "bill"), Ask("beside", ("0", "1"), "1")

Given = tuple[int, int, LoggedAnswer]
"""The round and the showing that an answer belongs to, and the answer."""


def a_showing(dice: Random, place: int) -> LoggedShowing:
    beside, kind = dice.random() < 0.1, dice.choice([Rendition.AS_TAKEN] * 5 + [Rendition.FAR_OFF])
    asks = (BESIDE,) if beside else dice.choice([(FORM,), (FORM,), (TRAIT, FORM)])
    return LoggedShowing(place, place, 1, asks, dice.random() < 0.7, len(asks) > 1, dice.random() < 0.1, kind, "", ())


def a_log(dice: Random) -> tuple[list[LoggedRound], list[Given]]:
    """Return rounds without answers, and every answer that is given to them, in the order given."""
    rounds, answers = [], []
    for number in range(dice.randint(2, 7)):
        day = number // 2 * dice.randint(1, 3) if number else 0
        showings = tuple(a_showing(dice, place) for place in range(dice.randint(2, 4)))
        rounds.append(LoggedRound(number, DAY + timedelta(days=day), 6.0, showings, is_trial=dice.random() < 0.15, catalogue_id=1))
        at = NOON + timedelta(days=day, hours=number % 2)
        for showing in showings:
            for ask in range(len(showing.asks)):
                for again in range(dice.choice([0, 1, 1, 1, 1, 2])):
                    at += timedelta(seconds=dice.choice([0, 5]))
                    given_at = at + timedelta(minutes=again * 2)
                    answers.append((number, showing.place, an_answer(dice, showing.asks[ask], ask, f"{dice.random()}", given_at)))
    return rounds, answers


def an_answer(dice: Random, ask: Ask, place: int, name: str, at: datetime) -> LoggedAnswer:
    said = ask.key if dice.random() < 0.8 else dice.choice(ask.choices)
    return LoggedAnswer(name, place, said, dice.choice(list(Sure)), dice.choice([2.0, 9.0]), dice.random() < 0.1, at)


def with_answers(logged: LoggedRound, given: Iterable[Given]) -> LoggedRound:
    hers = [(place, answer) for number, place, answer in given if number == logged.id]
    shown = (replace(one, answers=tuple(answer for place, answer in hers if place == one.place)) for one in logged.showings)
    return replace(logged, showings=tuple(shown))


def folded_on(rounds: Sequence[LoggedRound], came: Sequence[Given], batch: Sequence[Given], known: PairFold) -> PairFold | None:
    """Fold a batch on to what came before, as far as it may be asked for at all."""
    numbers = {number for number, _, _ in batch}
    before = {n: with_answers(rounds[n], came) for n in sorted(numbers)}
    touched = [TouchedRound(one if began(one) else None, with_answers(one, [*came, *batch])) for one in before.values()]
    first = min(one.first_at for one in touched)
    others = [start for one in rounds if one.id not in numbers if (start := began(with_answers(one, came))) is not None]
    if any(at >= first for at, _ in others):
        return None
    more = fold_on(known.memory, touched)
    return None if more is None else added(known, more)


def added(known: PairFold, more: FoldedOn) -> PairFold:
    prompts, besides = dict(known.prompts), dict(known.besides)
    for counts, by in ((prompts, more.prompts), (besides, more.besides)):
        for key, (missed, shown) in by.items():
            counts[key] = (counts.get(key, (0, 0))[0] + missed, counts.get(key, (0, 0))[1] + shown)  # type: ignore[index,arg-type]
    tally = dict(Counter(known.tally) + Counter(more.tally))
    return PairFold(more.memory, tally, (), known.recalled + more.recalled, prompts, besides)


def whole(rounds: Sequence[LoggedRound], came: Sequence[Given]) -> PairFold:
    return replace(fold_pair([with_answers(one, came) for one in rounds]), rated=())


def in_batches(dice: Random, answers: list[Given], *, late: float) -> list[list[Given]]:
    """Cut the answers into batches of a few; some of them come late."""
    batches: list[list[Given]] = []
    while answers:
        size = dice.randint(1, 6)
        batches.append(answers[:size])
        answers = answers[size:]
    for place in range(len(batches) - 1):
        if dice.random() < late:
            batches[place], batches[place + 1] = batches[place + 1], batches[place]
    return batches


@given(st.integers(0, 2**32), st.sampled_from([0.0, 0.0, 0.3]))
@settings(max_examples=50, deadline=None)
def test_folding_on_gives_what_folding_the_whole_log_gives(seed: int, late: float) -> None:
    dice = Random(seed)
    rounds, answers = a_log(dice)
    came: list[Given] = []
    known = whole(rounds, came)
    for batch in in_batches(dice, answers, late=late):
        on, known = folded_on(rounds, came, batch, known), whole(rounds, [*came, *batch])
        assert on is None or on == known
        came += batch


def plain(number: int, *, day: int) -> LoggedRound:
    showings = tuple(LoggedShowing(place, place, 1, (FORM,), True, False, False, Rendition.AS_TAKEN, "", ()) for place in range(3))
    return LoggedRound(number, DAY + timedelta(days=day), 6.0, showings)


def said(number: int, place: int, said: str = "1", *, day: int = 0, second: int = 0) -> Given:
    at = NOON + timedelta(days=day, seconds=second or 10 * place)
    return number, place, LoggedAnswer(f"{number}-{place}-{said}-{second}", 0, said, Sure.CERTAIN, 2.0, False, at)


def test_a_log_that_comes_in_order_is_always_folded_on() -> None:
    rounds = [plain(number, day=number) for number in range(5)]
    came: list[Given] = []
    known = whole(rounds, came)
    for number in range(5):
        for batch in ([said(number, 0, day=number), said(number, 1, day=number)], [said(number, 2, day=number)]):
            on = folded_on(rounds, came, batch, known)
            came += batch
            known = whole(rounds, came)
            assert on == known
    assert known.memory is not None
    assert (known.memory.rounds, known.memory.last) == (5, Outcome.EASE)


def test_what_follows_a_miss_is_folded_on() -> None:
    rounds, came = [plain(0, day=0)], [said(0, 0, "2")]
    on = folded_on(rounds, came, [said(0, 1), said(0, 2)], whole(rounds, came))
    assert on == whole(rounds, [*came, said(0, 1), said(0, 2)])


@pytest.mark.parametrize(
    ("came", "batch"),
    [
        pytest.param([said(0, 0, "2", second=50)], [said(0, 0, "1", second=5)], id="an earlier answer counts for the one that counted"),
        pytest.param([said(0, 0, "2"), said(0, 1, second=50)], [said(0, 1, "2", second=5)], id="it does so in a round that stays missed"),
        pytest.param([said(0, 0), said(0, 1), said(0, 2)], [said(0, 2, "2", second=1)], id="the rated round has another outcome"),
        pytest.param([said(1, 0, "2", day=1)], [said(0, 0), said(0, 1), said(0, 2)], id="a later round has been answered"),
        pytest.param([said(0, 0), said(1, 0, "2", second=90)], [said(0, 1), said(0, 2, "2")], id="the round before ends after it"),
    ],
)
def test_what_has_come_to_count_otherwise_is_not_folded_on(came: list[Given], batch: list[Given]) -> None:
    rounds = [plain(0, day=0), plain(1, day=1)]
    assert folded_on(rounds, came, batch, whole(rounds, came)) is None


def test_two_rounds_of_a_batch_that_change_places_are_not_folded_on() -> None:
    rounds = [plain(0, day=0), plain(1, day=0)]
    missed, held = [said(1, 0, "2", second=100)], [said(0, place, second=200 + place) for place in range(3)]
    came = missed + held
    earlier = [said(0, 0, second=5), said(1, 1, second=110)]
    assert whole(rounds, came) != whole(rounds, came + earlier)
    assert folded_on(rounds, came, earlier, whole(rounds, came)) is None
