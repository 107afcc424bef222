"""The engine itself as a policy: thin adapters that hand the world to `drillhall.core` and its plans back; nothing is decided here."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from random import Random

import numpy as np

from drillhall.core.fitting import offer_fitting
from drillhall.core.grading import grade_round
from drillhall.core.memory import USUAL_PARAMETERS, due_day, fold_rounds, next_memory
from drillhall.core.pairs import settled_standing
from drillhall.core.placement import MOST_PICTURES, Placing, outcome_of, place
from drillhall.core.rounds import build_round, plan_drill
from drillhall.core.rounds.day import MEETING_SECONDS, NEW_EVERY
from drillhall.core.rounds.misses import AfterMiss, still_to_come
from drillhall.core.rounds.spare import plan_spare
from drillhall.core.values import (
    Candidate,
    DrillWish,
    Form,
    GivenAnswer,
    Memory,
    Outcome,
    Outing,
    Pair,
    PairLore,
    PairToday,
    PlannedRound,
    PlannedShowing,
    RatedRound,
    RoundNeeds,
    State,
    Sure,
    Third,
    Trait,
    TraitKind,
)
from tests.bench.learning.asking import Asking, AskingFor
from tests.bench.learning.numbers import DAYS, OUTING_DAY, PICTURES_A_FORM
from tests.bench.learning.policies import Shown
from tests.bench.learning.rates import WeeklyMisses
from tests.bench.learning.world import Array, World

START = date(2029, 1, 1)
PACE_SECONDS = 60.0
"""What a showing is said to take: long, so that the time for meeting new pairs does not make a short drill a long one."""

FADES = 0.93
RECENT_ANSWERS = 60


@dataclass(frozen=True)
class Ways:
    """How the engine is run: what differs between the rows of the table; the defaults are the engine as it is shipped.

    know_marks: the catalogue tells which marks can be seen on each picture; know_background: pose and setting are told, so that a
    round's pictures can be alike; claims: pairs that she says she knows; asking: which trait a prompt asks for, as far as attention
    follows it; fit_on: the day on which fitted parameters are offered, and taken.
    """

    pictures_a_day: int = 15
    new_a_day: int = 5
    neither: bool = False
    third_share: float = 0.0
    target_recall: float = 0.90
    round_length: int | None = None
    plan: Callable[..., tuple[PlannedRound, ...]] = plan_drill
    build: Callable[..., tuple[PlannedShowing, ...]] = build_round
    know_marks: bool = True
    know_background: bool = True
    marks_first: bool = True
    after_miss: AfterMiss = AfterMiss.END
    claims: Array | None = None
    knows_outing: bool = False
    asking: Asking = Asking.NOT_TOLD
    fit_on: int | None = None


@dataclass
class _Turn:
    """A round under way: its pair, its showings, the answers given."""

    pair: int
    showings: tuple[PlannedShowing, ...]
    answers: list[GivenAnswer] = field(default_factory=list)
    trial: bool = False


class Hall:
    """What the hall keeps of every learner, and the engine asked for each day's drill."""

    def __init__(self, world: World, ways: Ways) -> None:
        self.world, self.ways, self.day = world, ways, 0
        people, pairs = world.learners, world.pair_count
        self.memories: list[dict[int, Memory]] = [{} for _ in range(people)]
        self.met = np.zeros((people, pairs), bool)
        self.begun = np.zeros((people, pairs), int)
        self.recent = np.zeros((people, pairs))
        self.misses = WeeklyMisses(world, weeks=DAYS // 7 + 1)
        self.rank = np.argsort(world.order, 1)
        self.seconds: list[list[float]] = [[] for _ in range(people)]
        self.lores = [lore_of(world, pair) for pair in range(pairs)]
        shelves = [[pictures_of(world, club, form, ways) for form in range(world.form_count)] for club in range(world.clubs)]
        self.pictures = [[list(of) for of in shelves[club]] for club in world.club]
        self.parameters = [USUAL_PARAMETERS] * people
        self.asking = AskingFor(ways.asking, world)
        self.turns: list[list[_Turn]] = [[] for _ in range(people)]
        self.coming: list[Iterator[_Turn]] = [iter(()) for _ in range(people)]
        self.at = np.zeros((people, 2), int)
        self.rated: list[tuple[int, int, int, Memory | None, Outcome]] = []

    @property
    def today(self) -> date:
        return START + timedelta(days=self.day)

    def begin(self, day: int, who: Array) -> None:
        self.day = day
        if day == self.ways.fit_on:
            self._offer_fitting()
        rates = self.misses.rates(day)
        for learner in who:
            self.coming[learner] = self._build(int(learner), self._plan(int(learner), rates[learner]), rates[learner])
        self.at[:] = 0

    def _offer_fitting(self) -> None:
        """Let everybody take what is offered, if anything is; her pairs are folded anew with it, as the hall does."""
        logs: list[dict[int, list[RatedRound]]] = [{} for _ in self.memories]
        for learner, pair, day, _, outcome in self.rated:
            logs[learner].setdefault(pair, []).append(RatedRound(START + timedelta(days=day), outcome))
        for learner, of_pairs in enumerate(logs):
            offer = offer_fitting(of_pairs)
            if offer is not None:
                self.parameters[learner] = offer.parameters
                folded = {pair: fold_rounds(rounds, parameters=offer.parameters) for pair, rounds in of_pairs.items()}
                self.memories[learner].update({pair: memory for pair, memory in folded.items() if memory})

    def _plan(self, learner: int, rates: Array) -> Iterator[PlannedRound]:
        """Ask for a drill of so many pictures, then for its spare rounds, then for a further drill, as far as rounds that end early need.

        The time for meeting new pairs is given on top, and what is over is cut: everybody is shown equally many pictures.
        """
        ways, kept = self.ways, self.memories[learner]
        seconds = ways.pictures_a_day * PACE_SECONDS
        rounds = math.ceil(seconds / PACE_SECONDS / (ways.round_length or 3))
        places = math.ceil(rounds / NEW_EVERY) if self.met[learner].any() else rounds
        wanted = seconds + MEETING_SECONDS * min(ways.new_a_day, int((~self.met[learner]).sum()), places)
        wish = DrillWish(min(wanted / 60, 120), PACE_SECONDS, ways.new_a_day, ways.round_length)
        dice = Random(f"{self.world.draws} {learner} {self.day}")
        pairs = [self._pair_today(learner, pair, kept.get(pair), rates) for pair in range(self.world.pair_count)]
        more = {"outings": (self._outing(learner),)} if ways.knows_outing else {}
        planned = list(ways.plan(pairs, wish, today=self.today, dice=dice, **more))
        yield from planned
        if ways.plan is plan_drill and ways.after_miss is AfterMiss.END:
            spare = plan_spare(planned, pairs, wish, today=self.today, dice=dice, **more)
            planned += spare
            yield from spare
        while True:
            further = self._further(planned, pairs, wish, dice)
            planned += further
            yield from further

    def _outing(self, learner: int) -> Outing:
        """Half the pairs, in the order of the syllabus every other one, are asked for on one day, from the first day on."""
        pairs = frozenset(int(pair) for pair in np.flatnonzero(self.rank[learner] % 2 == 0))
        return Outing(START + timedelta(days=OUTING_DAY), START, pairs)

    def _further(self, planned: list[PlannedRound], pairs: list[PairToday], wish: DrillWish, dice: Random) -> list[PlannedRound]:
        """Plan a further drill of the day, without new pairs."""
        given = Counter(turn.pair_id for turn in planned)
        later = [
            replace(
                pair,
                met=True,
                rounds_today=given[pair.pair_id],
                recent_pictures=pair.recent_pictures + 3 * given[pair.pair_id],
                due_day=self.today + timedelta(days=1) if given[pair.pair_id] else pair.due_day,
            )
            for pair in pairs
            if pair.met or given[pair.pair_id]
        ]
        return list(self.ways.plan(later, replace(wish, new_a_day=0), today=self.today, dice=dice))

    def _pair_today(self, learner: int, pair: int, memory: Memory | None, rates: Array) -> PairToday:
        own = {"target_recall": self.ways.target_recall, "parameters": self.parameters[learner]}
        due = due_day(memory, account_id=learner, pair_id=pair, **own) if memory else None
        return pair_value(
            self.world,
            pair,
            memory=memory,
            met=bool(self.met[learner, pair]),
            due=due,
            rate=float(rates[pair].mean()),
            recent=float(self.recent[learner, pair]),
            place=int(self.rank[learner, pair]),
        )

    def _build(self, learner: int, planned: Iterable[PlannedRound], rates: Array) -> Iterator[_Turn]:
        dice = Random(f"{self.world.draws} {learner} {self.day} pictures")
        begun_today: dict[int, int] = {}
        used: dict[int, datetime] = {}
        for number, turn in enumerate(planned):
            pair = turn.pair_id
            moment = evening_of(self.today) + timedelta(seconds=number)
            begun = int(self.begun[learner, pair]) + begun_today.get(pair, 0)
            trial = begun == 0 and self.ways.claims is not None and bool(self.ways.claims[learner, pair])
            longer = MOST_PICTURES if trial else turn.showings + (self.ways.after_miss is AfterMiss.STAY)
            needs = self._needs(learner, replace(turn, showings=longer), rates[pair], begun)
            forms = self.world.pairs[pair] if self.ways.neither else self.world.pairs[pair, :2]
            shelf = (one for form in forms for one in self.pictures[learner][form])
            candidates = [replace(one, seen_at=used[one.picture_id]) if one.picture_id in used else one for one in shelf]
            showings = self.ways.build(needs, candidates, now=moment, dice=dice)
            begun_today[pair] = begun_today.get(pair, 0) + 1
            used.update((showing.picture_id, moment) for showing in showings)
            yield _Turn(pair, showings, trial=trial)

    def _needs(self, learner: int, turn: PlannedRound, rates: Array, begun: int) -> RoundNeeds:
        memory = self.memories[learner].get(turn.pair_id)
        return RoundNeeds(
            lore=self.lores[turn.pair_id],
            showings=turn.showings,
            rounds_before=begun,
            first_share=float(rates[0] / rates.sum()),
            settled=settled_standing(memory, met=bool(self.met[learner, turn.pair_id]), fresh=()),
            missed_last=memory is not None and memory.last is Outcome.MISSED,
            neither_allowed=self.ways.neither,
            third_share=self.ways.third_share,
            marks_first=self.ways.marks_first,
        )

    def _see(self, learner: int, picture_id: int, turn_number: int) -> None:
        form, picture = divmod(picture_id, PICTURES_A_FORM)
        of = self.pictures[learner][form]
        of[picture] = replace(of[picture], seen_at=evening_of(self.today) + timedelta(seconds=turn_number))

    def choose(self, turn_number: int, who: Array, luck: Array) -> Shown:
        pair, form, picture, neither, asked = (np.zeros(len(who), int) for _ in range(5))
        for row, learner in enumerate(who):
            if self.at[learner, 0] == len(self.turns[learner]):
                self.turns[learner].append(next(self.coming[learner]))
            turn = self.turns[learner][self.at[learner, 0]]
            showing = turn.showings[self.at[learner, 1]]
            pair[row] = turn.pair
            of, picture[row] = divmod(showing.picture_id, PICTURES_A_FORM)
            form[row] = list(self.world.pairs[turn.pair]).index(of)
            neither[row] = len(showing.asks[-1].choices) == 3
            asked[row] = self.asking.trait(showing, learner=int(learner), place=turn_number, day=self.day)
        return Shown(who, pair, form, picture, neither.astype(bool), asked if self.ways.asking is not Asking.NOT_TOLD else None)

    def hear(self, turn_number: int, shown: Shown, said: Array, right: Array, sure: Array) -> None:
        numbers = self.world.numbers
        for row, learner in enumerate(shown.who):
            turn = self.turns[learner][self.at[learner, 0]]
            how_sure = float(sure[row])
            word = (
                Sure.CERTAIN if how_sure > numbers.certain_from else Sure.POSSIBLE if how_sure < numbers.possible_below else Sure.PROBABLE
            )
            # An answer takes the longer the less the evidence tells: Nosofsky and Palmeri (1997), Psychol Rev 104:266.
            seconds = 3 + 12 * (1 - how_sure)
            turn.answers.append(GivenAnswer(bool(right[row]), word, seconds, rated=shown.form[row] < 2))
            self._see(learner, turn.showings[self.at[learner, 1]].picture_id, turn_number)
            self.at[learner, 1] += 1
            self._shorten(turn, int(self.at[learner, 1]))
            if self.at[learner, 1] >= len(turn.showings):
                self.at[learner] = (self.at[learner, 0] + 1, 0)
        rated = shown.form < 2
        self.misses.count(self.day, shown, right, rated & ~shown.neither)

    def _shorten(self, turn: _Turn, given: int) -> None:
        """Drop what is no longer to come of a round; a spare picture is decided upon when only it is left."""
        rights = [answer.right for answer in turn.answers if answer.rated]
        left = turn.showings[given:]
        if turn.trial:
            left = left if place(rights) is Placing.GOING_ON else ()
        elif self.ways.after_miss is not AfterMiss.STAY or len(left) == 1:
            left = still_to_come(left, rights, after_miss=self.ways.after_miss)
        turn.showings = (*turn.showings[:given], *left)

    def end(self) -> None:
        self.recent *= FADES ** (np.array([bool(turns) for turns in self.turns]))[:, None]
        for learner, turns in enumerate(self.turns):
            for turn in turns:
                if turn.answers:
                    self._close(learner, turn)
            self.turns[learner] = []

    def _close(self, learner: int, turn: _Turn) -> None:
        """Grade a round as the hall does: the first of the pair that day that comes to an outcome is rated."""
        pair, kept = turn.pair, self.memories[learner]
        before = kept.get(pair)
        pace = self.seconds[learner][-RECENT_ANSWERS:]
        self.met[learner, pair] = True
        self.begun[learner, pair] += 1
        self.recent[learner, pair] += len(turn.answers)
        rated = sum(not showing.third for showing in turn.showings)
        outcome = grade_round(
            turn.answers,
            showings=rated,
            pace_seconds=float(np.median(pace)) if len(pace) >= 12 else None,
            before=before.last if before else None,
        )
        if turn.trial:
            outcome = outcome_of(place([answer.right for answer in turn.answers]))
        if outcome is not None and (before is None or before.last_day < self.today):
            self.rated.append((learner, pair, self.day, before, outcome))
            kept[pair] = next_memory(before, outcome, day=self.today, parameters=self.parameters[learner])
        self.seconds[learner] += [answer.seconds for answer in turn.answers]


def evening_of(day: date) -> datetime:
    """The moment at which everybody drills."""
    return datetime(day.year, day.month, day.day, 18, tzinfo=UTC)


def pair_value(
    world: World, pair: int, *, memory: Memory | None, met: bool, due: date | None, rate: float, recent: float, place: int = 0
) -> PairToday:
    """Return a pair as the planner takes it; forms are numbered from 1."""
    first, second, _ = world.pairs[pair]
    return PairToday(
        pair_id=pair,
        first_form_id=int(first) + 1,
        second_form_id=int(second) + 1,
        stage=(0, place),
        memory=memory,
        met=met,
        due_day=due,
        mixup_rate=rate,
        recent_pictures=recent,
    )


def lore_of(world: World, pair: int) -> PairLore:
    """Tell the pair's marks as a catalogue would: either form's own mark is usually seen, the other form hardly shows it."""
    first, second, third = (int(form) + 1 for form in world.pairs[pair])
    states = (State("there", "there"), State("lacking", "lacking"))
    traits = tuple(Trait(f"mark_{form}", f"Mark {form}", "whole", TraitKind.PATTERN, states) for form in (first, second))
    there, lacking = {"there": 0.85, "lacking": 0.15}, {"there": 0.1, "lacking": 0.9}
    return PairLore(
        pair=Pair(pair + 1, Form(first, f"Form {first}", ""), Form(second, f"Form {second}", "")),
        traits=traits,
        chances={form: {trait.key: there if trait.key == f"mark_{form}" else lacking for trait in traits} for form in (first, second)},
        thirds=(Third(third, traits[0].key),),
    )


def pictures_of(world: World, club: int, form: int, ways: Ways) -> list[Candidate]:
    """Return a form's pictures as the planner knows them: pose and light in words, and which marks show where that is told."""
    found = []
    for picture in range(PICTURES_A_FORM):
        pose, light = world.practice[club, form, picture, -2:]
        shows = None
        if ways.know_marks:
            seen = world.visible[club, form, picture]
            shows = frozenset(f"mark_{3 * (form // 3) + mark + 1}" for mark in range(3) if seen[mark])
        found.append(
            Candidate(
                picture_id=form * PICTURES_A_FORM + picture,
                form_id=form + 1,
                orientation=("left" if pose < 0 else "right") if ways.know_background else "",
                setting=("shade" if light < 0 else "sun") if ways.know_background else "",
                shows=shows,
            )
        )
    return found
