"""Gathers what the engine must know of a learner's pairs and asks it for today's drill."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import Any, Final

from sqlalchemy import Row
from sqlalchemy.orm import Session

from drillhall.core.memory import Parameters, due_day
from drillhall.core.pairs import settled_standing
from drillhall.core.rounds import plan_drill
from drillhall.core.rounds.plan import is_cut_short
from drillhall.core.rounds.spare import plan_spare
from drillhall.core.stages import PicturesHeld, StagePictures, reached, stage_holding
from drillhall.core.values import DrillWish, Memory, Outing, PairToday, PlannedRound
from drillhall.practice.assigned import AssignedToHer, pairs_by_set, the_assigned
from drillhall.practice.few_pictures import Looks, Stages, pictures_for, why_short
from drillhall.practice.remembering import memories_of, parameters_of
from drillhall.practice.skill import Skill, skill_for_planning
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import lately
from drillhall.store.queries import learner as reading

USUAL_SECONDS = 12.0
FEW_ANSWERS = 12
QUICKEST_SECONDS, SLOWEST_SECONDS = 4.0, 45.0
READING_SECONDS = 4.0
"""What a learner takes to read what is said after an answer; from memory, not measured."""

MOST_AGAIN = 45
"""So many pictures, about, a further drill on one day holds at most: a quick learner's minutes would make it far longer."""

NONE: Final = frozenset[int]()

FADES = 0.93
"""What each drill since leaves of a picture's weight in the share of turns."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How quick a learner is: seconds that a whole showing takes her, and seconds from picture to the name of a form."""

    showing_seconds: float
    answer_seconds: float


@dataclass(frozen=True, slots=True)
class DrillPlan:
    """Today's drill before a picture is chosen: its rounds, the pairs it chose from, and whose lore each pair is read in.

    `spares` are played only where others end early; `without_pictures` counts pairs left out, since a form of theirs has no picture
    that she may be shown; `short`: why the drill is shorter than she wished, or asks what it asked today, where that is for want of
    pictures.
    """

    rounds: tuple[PlannedRound, ...]
    spares: tuple[PlannedRound, ...]
    short: str
    pairs: Mapping[int, PairToday]
    without_pictures: int
    catalogues: Mapping[int, int]
    stages: Mapping[int, Stages]
    skill: Skill
    memories: Mapping[int, Memory]
    pace: Pace
    assigned: AssignedToHer


def plan_for(db: Session, account: AccountRow, *, today: date) -> DrillPlan:
    """Plan a learner's drill for her local day; asked twice with the same log, it gives the same.

    The dice are seeded by account, day and the rounds she has had that day, so that a second drill differs from the first.
    """
    rows = reading.taken_pairs(db, account.id, on=today)
    every, stored = _once_each(rows), reading.memories(db, account.id)
    skill = skill_for_planning(db, account.id, {row.id for row in rows}, today=today)
    assigned = the_assigned(db, account, today=today, known=pairs_by_set(rows))
    memories = memories_of(stored.values())
    looks, own = _looks(db, account.id, every, on=today)
    stages = stages_reached(rows, memories, looks)
    taken = _with_pictures(every, looks, stages)
    shown, recent = lately.shown_on(db, account.id, today), _recent(lately.recent_pictures(db, account.id))
    today_count = Counter(pair_id for pair_id, _ in {(one.pair_id, one.round_id) for one in shown})
    due = _due_days(account, stored, memories, assigned, parameters_of(db, account.id))
    pictures, anew = pictures_for(taken, looks, stages, shown)
    known = _Known(skill, memories, due, recent, today_count, _relatives(taken, skill, memories), own, pictures)
    pairs = {row.id: known.of(row, place) for place, row in taken}
    pace = the_pace(lately.recent_seconds(db, account.id))
    wish = _wish(account, pace, again=bool(today_count))
    rounds, spares = _rounds_and_spares(account, list(pairs.values()), wish, assigned.outings, begun=today_count.total(), today=today)
    return DrillPlan(
        rounds=rounds,
        spares=spares,
        short=why_short(pairs, rounds, anew=anew, cut_short=is_cut_short(rounds, wish)),
        pairs=pairs,
        without_pictures=len(every) - len(taken),
        catalogues={row.id: row.catalogue_id for _, row in taken},
        stages=stages,
        skill=skill,
        memories=memories,
        pace=pace,
        assigned=assigned,
    )


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of pairs, each by pair but `own`: the forms by catalogue of which she has sent pictures."""

    skill: Skill
    memories: Mapping[int, Memory]
    due: Mapping[int, date]
    recent: Mapping[int, float]
    rounds_today: Mapping[int, int]
    relatives: Mapping[int, frozenset[int]]
    own: Mapping[int, AbstractSet[int]]
    pictures: Mapping[int, tuple[int, int]]

    def of(self, row: reading.TakenPair, place: int) -> PairToday:
        """Return what planning must know of a pair; `place` is that of its stage among all."""
        pair_id, first, second, own = row.id, row.first_form_id, row.second_form_id, self.own[row.catalogue_id]
        return PairToday(
            pair_id=pair_id,
            first_form_id=first,
            second_form_id=second,
            stage=(place, row.place),
            memory=self.memories.get(pair_id),
            met=self.skill.has_met(pair_id),
            due_day=self.due.get(pair_id),
            mixup_rate=(self.skill.rate(pair_id, first) + self.skill.rate(pair_id, second)) / 2,
            recent_pictures=self.recent.get(pair_id, 0.0),
            rounds_today=self.rounds_today.get(pair_id, 0),
            after=self.relatives.get(pair_id, NONE),
            own=first in own and second in own,
            pictures=self.pictures[pair_id],
        )


def _rounds_and_spares(
    account: AccountRow, pairs: Sequence[PairToday], wish: DrillWish, outings: Sequence[Outing], *, begun: int, today: date
) -> tuple[tuple[PlannedRound, ...], tuple[PlannedRound, ...]]:
    dice = random.Random(f"{account.id} {today.isoformat()} {begun}")
    rounds = plan_drill(pairs, wish, today=today, dice=dice, outings=outings)
    return rounds, plan_spare(rounds, pairs, wish, today=today, dice=dice, outings=outings)


def _wish(account: AccountRow, pace: Pace, *, again: bool) -> DrillWish:
    """Return what a drill is to be: as long as she has set, and for a further one on the same day no more than a few pictures."""
    minutes = min(account.minutes_a_day, MOST_AGAIN * pace.showing_seconds / 60) if again else account.minutes_a_day
    return DrillWish(minutes, pace.showing_seconds, account.new_a_day, account.round_length)


def the_pace(answers: Sequence[tuple[int, float, bool]]) -> Pace:
    """Return how quick a learner is: medians over her latest answers, once there are enough, within bounds.

    Parameters
    ----------
    answers : (showing, seconds from seeing the picture to the answer, whether a form was named).
    """
    showings: dict[int, float] = defaultdict(float)
    for showing_id, seconds, _ in answers:
        showings[showing_id] += seconds
    named = [seconds for _, seconds, is_form in answers if is_form]
    if len(named) < FEW_ANSWERS:
        return Pace(USUAL_SECONDS, USUAL_SECONDS - READING_SECONDS)
    a_showing = median(showings.values()) + READING_SECONDS
    return Pace(min(max(a_showing, QUICKEST_SECONDS), SLOWEST_SECONDS), median(named))


def _once_each(rows: Sequence[reading.TakenPair]) -> list[tuple[int, reading.TakenPair]]:
    """Number the stages of all sets one after the other; a pair in several sets belongs to the one taken first."""
    stages: dict[tuple[int, int], int] = {}
    kept: dict[int, tuple[int, reading.TakenPair]] = {}
    for row in rows:
        place = stages.setdefault((row.pair_set_id, row.stage), len(stages))
        kept.setdefault(row.id, (place, row))
    return list(kept.values())


def _looks(
    db: Session, account_id: int, taken: Sequence[tuple[int, reading.TakenPair]], *, on: date
) -> tuple[Looks, Mapping[int, AbstractSet[int]]]:
    """Return for each catalogue on how many pictures the forms of these pairs may be shown to her, and of which forms some are her own."""
    forms: dict[int, set[int]] = defaultdict(set)
    for _, row in taken:
        forms[row.catalogue_id] |= _forms(row)
    found = {
        catalogue_id: reading.forms_with_pictures(db, account_id, catalogue_id=catalogue_id, form_ids=wanted, on=on)
        for catalogue_id, wanted in forms.items()
    }
    own = {catalogue_id: {look.form_id for look in looks if look.own} for catalogue_id, looks in found.items()}
    return {catalogue_id: PicturesHeld(looks.items()) for catalogue_id, looks in found.items()}, own


def _with_pictures(
    taken: Sequence[tuple[int, reading.TakenPair]], looks: Looks, stages: Mapping[int, Stages]
) -> list[tuple[int, reading.TakenPair]]:
    """Leave out pairs of which a form has no picture she may be shown, among those that its stages hold.

    One form alone would teach to say its name.
    """
    return [(place, row) for place, row in taken if _are_held(row, looks[row.catalogue_id].by(stages[row.id]))]


def _are_held(row: reading.TakenPair, held: Mapping[int, int]) -> bool:
    """Whether both forms of a pair are among those that have a picture."""
    return row.first_form_id in held and row.second_form_id in held


def _forms(row: reading.TakenPair) -> set[int]:
    return {row.first_form_id, row.second_form_id}


def stages_reached(rows: Iterable[reading.TakenPair], memories: Mapping[int, Memory], looks: Looks) -> dict[int, Stages]:
    """Return the pictures of the stages that she has reached with each pair, of the set by which the pair came to her first.

    A stage in which a form has no picture that she may be shown holds nobody up: it is passed over where another one can ask the pair.
    """
    of_set: dict[int, int] = {}
    every: dict[int, list[StagePictures]] = defaultdict(list)
    asking: dict[int, list[StagePictures]] = defaultdict(list)
    for row in rows:
        if of_set.setdefault(row.id, row.pair_set_id) == row.pair_set_id:
            stage = stage_holding(row.poses, row.distances)
            every[row.id].append(stage)
            if _are_held(row, looks[row.catalogue_id].by((stage,))):
                asking[row.id].append(stage)
    stages = {pair_id: asking.get(pair_id) or held for pair_id, held in every.items()}
    return {pair_id: _reached(held, memories.get(pair_id)) for pair_id, held in stages.items()}


def _reached(held: Sequence[StagePictures], memory: Memory | None) -> Stages:
    return tuple(held) if len(held) == 1 else reached(held, settled_standing(memory, met=False, fresh=()))


def _due_days(
    account: AccountRow,
    stored: Mapping[int, Row[Any]],
    memories: Mapping[int, Memory],
    assigned: AssignedToHer,
    parameters: Parameters,
) -> dict[int, date]:
    """Return when each pair that was rated falls due: as it is kept, and sooner while an assignment asks for a higher recall."""
    raised = assigned.raised_targets(own=account.target_recall)
    sooner = {
        pair_id: due_day(memories[pair_id], target_recall=target, account_id=account.id, pair_id=pair_id, parameters=parameters)
        for pair_id, target in raised.items()
        if pair_id in memories
    }
    return {pair_id: row.due_day for pair_id, row in stored.items()} | sooner


def _relatives(
    taken: Sequence[tuple[int, reading.TakenPair]], skill: Skill, memories: Mapping[int, Memory]
) -> Mapping[int, frozenset[int]]:
    """Return, for each pair that she has not met, those of easier stages of the same set that share a species with it."""
    sharing: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    for _, row in taken:
        for concept_id in {row.first_concept_id, row.second_concept_id}:
            sharing[row.pair_set_id, concept_id].append((row.stage, row.id))
    return {
        row.id: frozenset(
            pair_id
            for concept_id in (row.first_concept_id, row.second_concept_id)
            for stage, pair_id in sharing[row.pair_set_id, concept_id]
            if stage < row.stage
        )
        for _, row in taken
        if not skill.has_met(row.id) and row.id not in memories
    }


def _recent(counts: Iterable[Any]) -> dict[int, float]:
    """Return of each pair how many pictures it had lately, from those of each round: each drill since leaves 0.93 of one."""
    drills: dict[str, dict[int, int]] = {}
    for drill_id, pair_id, count in counts:
        of_drill = drills.setdefault(drill_id, {})
        of_drill[pair_id] = of_drill.get(pair_id, 0) + count
    weights: dict[int, float] = defaultdict(float)
    for age, of_drill in enumerate(filter(lambda one: any(one.values()), drills.values())):
        weight = FADES**age
        for pair_id, count in of_drill.items():
            weights[pair_id] += count * weight
    return weights
