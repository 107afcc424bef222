"""Plans that must lose to the engine, and the guessers who must gain nothing from it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from random import Random

from drillhall.core.confusion import Misses, mixup_rate, prior_rate
from drillhall.core.grading import grade_round
from drillhall.core.memory import due_day, next_memory
from drillhall.core.pairs import settled_standing
from drillhall.core.rounds import build_round, plan_drill
from drillhall.core.rounds.day import NEW_EVERY, is_new, wanted_by
from drillhall.core.values import (
    DrillWish,
    GivenAnswer,
    Memory,
    Outcome,
    PairToday,
    PlannedRound,
    RoundNeeds,
    Sure,
    Why,
)
from tests.bench.learning.hall import START, Ways, evening_of, lore_of, pair_value, pictures_of
from tests.bench.learning.world import World

LONG_DAYS = 21
ROUND = 3


def weakest_first(pairs: Sequence[PairToday], wish: DrillWish, *, today: date, dice: Random) -> tuple[PlannedRound, ...]:
    """Give every place that is not kept for a new pair to the pair mixed up most often."""
    known = sorted((pair for pair in pairs if not is_new(pair)), key=lambda pair: -pair.mixup_rate)
    new = sorted((pair for pair in pairs if is_new(pair)), key=lambda pair: pair.stage)
    return _in_turn(known, new, wish, every=NEW_EVERY)


def new_after_due(pairs: Sequence[PairToday], wish: DrillWish, *, today: date, dice: Random) -> tuple[PlannedRound, ...]:
    """Meet new pairs only when nothing is due any more."""
    known = sorted((pair for pair in pairs if not is_new(pair)), key=lambda pair: (pair.due_day or today, pair.pair_id))
    due = [pair for pair in known if pair.due_day is None or pair.due_day <= today]
    new = sorted((pair for pair in pairs if is_new(pair)), key=lambda pair: pair.stage)[: wish.new_a_day]
    return _in_turn([*due, *new, *(pair for pair in known if pair not in due)], [], wish, every=NEW_EVERY)


def _in_turn(known: list[PairToday], new: list[PairToday], wish: DrillWish, *, every: int) -> tuple[PlannedRound, ...]:
    rounds = round(wish.minutes * 60 / wish.seconds_a_showing) // ROUND + 1
    every_pair = len(known) + len(new)
    turns: list[PairToday] = []
    while len(turns) < min(rounds, every_pair):
        take_new = new and (len(turns) % every == 0 or not known)
        turns.append(new.pop(0) if take_new else known.pop(0))
    turns += [turns[number % len(turns)] for number in range(rounds - len(turns))]
    return tuple(PlannedRound(pair.pair_id, ROUND, Why.NEW if is_new(pair) else Why.DUE) for pair in turns)


def guess_for_a_year(world: World, manner: str, seed: int, *, days: int = 365) -> tuple[float, int, int]:
    """Let somebody guess for a year; return the share of pair-days beyond 21 days, how many pairs were ever there, and how many were met.

    manner: "unsure" says *possible* slowly; "quick" says *certain* at once; "deducing" is quick, and says the form that has not come yet
    in the round where the last must be the other, else the one she has missed more often, because the engine leans towards it; "one
    name" always says the same; "in turns" always says the name that was not right just before.
    """
    guesser = _Guesser(world, manner, seed)
    long_days = [guesser.live(day) for day in range(days) if day % 4 != 3]
    met = len(guesser.memories)
    return sum(long_days) / (len(long_days) * max(met, 1)), len(guesser.ever_long), met


class _Guesser:
    """A learner who knows nothing, drilled by the real engine."""

    def __init__(self, world: World, manner: str, seed: int) -> None:
        self.world, self.manner, self.dice = world, manner, Random(seed)
        self.memories: dict[int, Memory] = {}
        self.begun: dict[int, int] = {}
        self.recent: dict[int, float] = {}
        self.missed: dict[int, list[float]] = {pair: [0.0, 0.0] for pair in range(world.pair_count)}
        self.shown: dict[int, list[float]] = {pair: [0.0, 0.0] for pair in range(world.pair_count)}
        self.ever_long: set[int] = set()
        self.lores = [lore_of(world, pair) for pair in range(world.pair_count)]
        self.pictures = [pictures_of(world, 0, form, Ways(know_marks=False)) for form in range(world.form_count)]

    def live(self, day: int) -> int:
        """Drill for a day and return how many pairs are then beyond 21 days."""
        today = START + timedelta(days=day)
        self.recent = {pair: count * 0.93 for pair, count in self.recent.items()}
        pairs = [self._today(pair) for pair in range(self.world.pair_count)]
        planned = plan_drill(pairs, DrillWish(minutes=15, seconds_a_showing=60), today=today, dice=self.dice)
        for turn in planned:
            self._round(turn, today)
        waits = {pair: wanted_by(self._today(pair)) for pair in self.memories}
        long = [pair for pair, wanted in waits.items() if wanted and (wanted - self.memories[pair].last_day).days > LONG_DAYS]
        self.ever_long.update(long)
        return len(long)

    def _today(self, pair: int) -> PairToday:
        memory = self.memories.get(pair)
        rates = self._rates(pair)
        due = due_day(memory, account_id=1, pair_id=pair) if memory else None
        return pair_value(
            self.world, pair, memory=memory, met=pair in self.begun, due=due, rate=sum(rates) / 2, recent=self.recent.get(pair, 0.0)
        )

    def _rates(self, pair: int) -> list[float]:
        """Her rate of mix-up for either form, by the engine's own estimate, without decay and without anybody else in the hall."""
        own = Misses(sum(map(sum, self.missed.values())), sum(map(sum, self.shown.values())))
        prior = prior_rate(own=own, pair=Misses(), everyone=Misses())
        return [mixup_rate(missed, shown, prior=prior) for missed, shown in zip(self.missed[pair], self.shown[pair], strict=True)]

    def _round(self, turn: PlannedRound, today: date) -> None:
        pair = turn.pair_id
        before = self.memories.get(pair)
        first, second = self._rates(pair)
        needs = RoundNeeds(
            lore=self.lores[pair],
            showings=turn.showings,
            rounds_before=self.begun.get(pair, 0),
            first_share=first / (first + second),
            settled=settled_standing(before, met=pair in self.begun, fresh=()),
            missed_last=before is not None and before.last is Outcome.MISSED,
            neither_allowed=False,
        )
        candidates = [one for form in self.world.pairs[pair][:2] for one in self.pictures[form]]
        showings = build_round(needs, candidates, now=evening_of(today), dice=self.dice)
        came: list[int] = []
        answers = []
        for showing in showings:
            side = int(showing.form_id != needs.lore.pair.first.id)
            right = self._says(came, needs, first >= second) == side
            came.append(side)
            self.missed[pair][side] += not right
            self.shown[pair][side] += 1
            slow = self.manner == "unsure"
            answers.append(GivenAnswer(right, Sure.POSSIBLE if slow else Sure.CERTAIN, 9.0 if slow else 1.0))
        self.begun[pair] = self.begun.get(pair, 0) + 1
        self.recent[pair] = self.recent.get(pair, 0.0) + len(showings)
        outcome = grade_round(answers, showings=len(showings), pace_seconds=6.0, before=before.last if before else None)
        if outcome is not None and (before is None or before.last_day < today):
            self.memories[pair] = next_memory(before, outcome, day=today)

    def _says(self, came: list[int], needs: RoundNeeds, first_missed_more: bool) -> int:
        if self.manner == "one name":
            return 0
        if self.manner == "in turns" and came:
            return 1 - came[-1]
        if self.manner != "deducing":
            return self.dice.randrange(2)
        if needs.rounds_before < 2 and len(came) == needs.showings - 1 and len(set(came)) == 1:
            return 1 - came[0]
        return 0 if first_missed_more else 1
