"""Gathers what the engine must know of a learner's pairs and asks it for today's drill."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median

from sqlalchemy.orm import Session

from drillhall.core.memory import Parameters, due_day
from drillhall.core.pairs import settled_standing
from drillhall.core.rounds import plan_drill
from drillhall.core.rounds.plan import is_cut_short
from drillhall.core.rounds.spare import plan_spare
from drillhall.core.stages import StagePictures, can_ask, held_by_any, reached
from drillhall.core.values import DrillWish, Memory, Outing, PairToday, PlannedRound
from drillhall.practice.assigned import AssignedToHer, the_assigned
from drillhall.practice.few_pictures import Looks, Stages, pictures_for, why_short
from drillhall.practice.remembering import memory_of, parameters_of
from drillhall.practice.skill import Skill, skill_for_planning
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow
from drillhall.store.queries import lately
from drillhall.store.queries import learner as reading

USUAL_SECONDS = 12.0
FEW_ANSWERS = 12
QUICKEST_SECONDS, SLOWEST_SECONDS = 4.0, 45.0
READING_SECONDS = 4.0
"""What a learner takes to read what is said after an answer; from memory, not measured."""

MOST_AGAIN = 45
"""So many pictures, about, a further drill on one day holds at most: a quick learner's minutes would make it far longer."""

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
    assigned = the_assigned(db, account, today=today)
    memories = {pair_id: memory_of(row) for pair_id, row in stored.items()}
    looks = _looks(db, account.id, every, on=today)
    stages = stages_reached(rows, memories, looks)
    taken = _with_pictures(every, looks, stages)
    shown, recent = lately.shown_on(db, account.id, today), _recent(lately.recent_pictures(db, account.id))
    today_count = Counter(pair_id for pair_id, _ in {(one.pair_id, one.round_id) for one in shown})
    relatives, parameters = _relatives(taken), parameters_of(db, account.id)
    pictures, anew = pictures_for(taken, looks, stages, shown)
    pairs = {
        row.id: replace(
            _pair_today(row, place, skill, pictures[row.id]),
            memory=memories.get(row.id),
            due_day=_due(account, stored.get(row.id), assigned, parameters),
            recent_pictures=recent.get(row.id, 0.0),
            rounds_today=today_count[row.id],
            after=relatives[row.id],
            own=_forms(row) <= {look.form_id for look in looks[row.catalogue_id] if look.own},
        )
        for place, row in taken
    }
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


def _rounds_and_spares(
    account: AccountRow, pairs: Sequence[PairToday], wish: DrillWish, outings: Sequence[Outing], *, begun: int, today: date
) -> tuple[tuple[PlannedRound, ...], tuple[PlannedRound, ...]]:
    dice = random.Random(f"{account.id} {today.isoformat()} {begun}")
    rounds = plan_drill(pairs, wish, today=today, dice=dice, outings=outings)
    return rounds, plan_spare(rounds, pairs, wish, today=today, dice=dice, outings=outings)


def _pair_today(row: reading.TakenPair, place: int, skill: Skill, pictures: tuple[int, int]) -> PairToday:
    """Return what is known of a pair from its place, her counts and its pictures alone; the rest stays as for a pair never met."""
    return PairToday(
        pair_id=row.id,
        first_form_id=row.first_form_id,
        second_form_id=row.second_form_id,
        stage=(place, row.place),
        met=skill.has_met(row.id),
        mixup_rate=_rate(skill, row),
        pictures=pictures,
    )


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


def _looks(db: Session, account_id: int, taken: Sequence[tuple[int, reading.TakenPair]], *, on: date) -> Looks:
    """Return for each catalogue how the forms of these pairs may be shown to her, and on how many pictures."""
    forms: dict[int, set[int]] = defaultdict(set)
    for _, row in taken:
        forms[row.catalogue_id] |= _forms(row)
    return {
        catalogue_id: reading.forms_with_pictures(db, account_id, catalogue_id=catalogue_id, form_ids=wanted, on=on)
        for catalogue_id, wanted in forms.items()
    }


def _with_pictures(
    taken: Sequence[tuple[int, reading.TakenPair]], looks: Looks, stages: Mapping[int, Stages]
) -> list[tuple[int, reading.TakenPair]]:
    """Leave out pairs of which a form has no picture she may be shown, among those that its stages hold.

    One form alone would teach to say its name.
    """
    return [
        (place, row)
        for place, row in taken
        if _forms(row) <= {look.form_id for look in looks[row.catalogue_id] if held_by_any(stages[row.id], look.pose, look.distance)}
    ]


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
            stage = StagePictures(frozenset(row.poses), frozenset(row.distances))
            every[row.id].append(stage)
            if can_ask(stage, _forms(row), looks[row.catalogue_id]):
                asking[row.id].append(stage)
    stages = {pair_id: asking.get(pair_id) or held for pair_id, held in every.items()}
    standings = {pair_id: settled_standing(memories.get(pair_id), met=False, fresh=()) for pair_id in stages}
    return {pair_id: reached(held, standings[pair_id]) for pair_id, held in stages.items()}


def _due(account: AccountRow, row: MemoryRow | None, assigned: AssignedToHer, parameters: Parameters) -> date | None:
    """Return when a pair falls due: as it is kept, and sooner while an assignment asks for a higher recall."""
    if row is None:
        return None
    target = assigned.target_of(row.pair_id, own=account.target_recall)
    if target == account.target_recall:
        return row.due_day
    return due_day(memory_of(row), target_recall=target, account_id=account.id, pair_id=row.pair_id, parameters=parameters)


def _relatives(taken: Sequence[tuple[int, reading.TakenPair]]) -> Mapping[int, frozenset[int]]:
    """Return, for each pair, those of easier stages of the same set that share a species with it."""
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
    }


def _rate(skill: Skill, row: reading.TakenPair) -> float:
    first, second = skill.directions(row.id, row.first_form_id, row.second_form_id)
    return (first.mixup_rate + second.mixup_rate) / 2


def _recent(counts: Sequence[tuple[str, int, int]]) -> dict[int, float]:
    order: dict[str, int] = {}
    weights: dict[int, float] = defaultdict(float)
    for drill_id, pair_id, count in counts:
        age = order.setdefault(drill_id, len(order))
        weights[pair_id] += count * FADES**age
    return dict(weights)
