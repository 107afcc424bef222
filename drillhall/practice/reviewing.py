"""Tells a learner where she stands: pair by pair in both directions, how sure against how right."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row
from sqlalchemy.orm import Session

from drillhall.core.confusion import Brier, CalibrationLine, brier, calibration
from drillhall.core.memory import Parameters
from drillhall.core.pairs import fresh_lacking, standing
from drillhall.core.values import Direction, FreshAnswer, Memory, Pair, PairLore, Standing, Sure
from drillhall.practice.behind import in_words, traits_behind
from drillhall.practice.cautioning import banners_of
from drillhall.practice.days import local_day
from drillhall.practice.judging import judged_asks
from drillhall.practice.logged import asked
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.needs import list_fresh
from drillhall.practice.reader import reader_of
from drillhall.practice.remembering import memory_of, parameters_in, parameters_of
from drillhall.practice.side_by_side import BesideStanding, standings_beside
from drillhall.practice.skill import Skill, the_skill
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import log
from drillhall.store.queries.batch import Learner
from drillhall.store.queries.standing import sure_answers
from drillhall.words import Said, say, say_n

SURE_ENOUGH = 12
"""Answers of one word below which nothing is said about whether it is too sure, and of all below which there is no one figure."""


FEW_SHOWINGS = 8
"""Showings of a form below which its counts are told, and no rate."""


@dataclass(frozen=True, slots=True)
class PairStanding:
    """One pair as the page of standings shows it; `lacking` are right fresh answers still wanted, by direction.

    `behind` says which trait lies behind a mix-up; empty without one, or without answers enough.
    """

    pair: Pair
    standing: Standing
    directions: tuple[Direction, Direction]
    due_day: date | None
    lacking: tuple[int, int]
    says: str
    behind: str = ""

    @property
    def is_mixed_up(self) -> bool:
        """Whether she has ever taken one for the other."""
        return any(direction.right < direction.shown for direction in self.directions)


@dataclass(frozen=True, slots=True)
class StandingPage:
    """Where a learner stands: her pairs, those not met yet, how sure against how right, and apart from these two pictures at once.

    sureness: how sure against how right in one figure; None below `SURE_ENOUGH` answers.
    """

    pairs: tuple[PairStanding, ...]
    unmet: tuple[Pair, ...]
    calibration: tuple[CalibrationLine, ...]
    calibration_says: str
    today: date
    sureness: Brier | None = None
    banners: tuple[str, ...] = ()
    beside: tuple[BesideStanding, ...] = ()

    def count(self, standing: Standing) -> int:
        """Return how many pairs have a standing."""
        return len(self.unmet) if standing is Standing.UNMET else sum(pair.standing is standing for pair in self.pairs)

    def of(self, standing: Standing) -> tuple[PairStanding, ...]:
        """Return the pairs of a standing, the weakest first."""
        return tuple(pair for pair in self.pairs if pair.standing is standing)


def the_standing(db: Session, account_id: int, *, now: datetime) -> StandingPage:
    """Return where a learner stands with every pair of her sets and every pair she has met."""
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    skill = the_skill(db, account_id, today=today)
    stored, parameters = reading.memories(db, account_id), parameters_of(db, account_id)
    fresh = list_fresh(db, account_id, None, today=today)
    lores = told_pairs(db, account_id, on=today)
    pairs = {pair_id: lore.pair for pair_id, (_, lore) in lores.items()}
    behind = traits_behind(db, account_id, lores, today=today)
    met = [pair for pair in pairs.values() if skill.has_met(pair.id)]
    told = [_one(pair, skill, stored.get(pair.id), fresh.get(pair.id, []), account, today, parameters) for pair in met]
    told = [replace(one, behind=in_words(behind.get(one.pair.id))) if one.is_mixed_up else one for one in told]
    told.sort(key=lambda one: -max(direction.mixup_rate for direction in one.directions))
    lines = calibration(_said(db, account_id))
    forecasts = [line.forecast for line in lines]
    return StandingPage(
        pairs=tuple(told),
        unmet=tuple(pair for pair in pairs.values() if not skill.has_met(pair.id)),
        calibration=lines,
        calibration_says=how_sure_in_words(lines),
        sureness=brier(forecasts) if sum(one.said for one in forecasts) >= SURE_ENOUGH else None,
        today=today,
        beside=standings_beside(db, account_id, pairs),
        banners=banners_of(db, {row.catalogue_id for row in reading.taken_pairs(db, account_id, on=today)}),
    )


def standings_of(db: Session, learner: Learner, memories: Mapping[int, Memory | None], *, now: datetime) -> dict[int, Standing]:
    """Return the standing of some pairs that the learner has met, told with her memories of them."""
    today, parameters = local_day(learner, now), parameters_in(learner.parameters)

    def where(pair_id: int, fresh: Sequence[FreshAnswer] = ()) -> Standing:
        known, target = memories[pair_id], learner.target_recall
        return standing(known, met=True, today=today, target_recall=target, fresh=fresh, parameters=parameters)

    found = {pair_id: where(pair_id) for pair_id in memories}
    # Only of a steady pair do fresh answers say more.
    if steady := [pair_id for pair_id, known in found.items() if known is Standing.STEADY]:
        fresh = list_fresh(db, learner.id, steady, today=today)
        found |= {pair_id: where(pair_id, fresh.get(pair_id, [])) for pair_id in steady}
    return found


def named_pairs(db: Session, account_id: int, *, on: date) -> dict[int, Pair]:
    """Return the learner's pairs by id with their names: those of her sets in order, then others that she once drilled."""
    return {pair_id: lore.pair for pair_id, (_, lore) in told_pairs(db, account_id, on=on).items()}


def told_pairs(db: Session, account_id: int, *, on: date) -> dict[int, tuple[int, PairLore]]:
    """Return (catalogue, what it says) of the learner's pairs by id: those of her sets in order, then others that she once drilled."""
    catalogue_of: dict[int, int] = {}
    reader = reader_of(db.get_one(AccountRow, account_id))
    for row in reading.taken_pairs(db, account_id, on=on):
        catalogue_of.setdefault(row.id, row.catalogue_id)
    for pair_id, catalogue_id in log.drilled_pairs(db, account_id, besides=catalogue_of):
        catalogue_of.setdefault(pair_id, catalogue_id)
    wanted: dict[int, list[int]] = defaultdict(list)
    for pair_id, catalogue_id in catalogue_of.items():
        wanted[catalogue_id].append(pair_id)
    lores = {}
    for catalogue_id, pair_ids in wanted.items():
        lores.update(lore_of_pairs(db, catalogue_id, pair_ids, reader=reader))
    return {pair_id: (catalogue_id, lores[pair_id]) for pair_id, catalogue_id in catalogue_of.items() if pair_id in lores}


def _one(
    pair: Pair,
    skill: Skill,
    row: Row[Any] | None,
    fresh: Sequence[FreshAnswer],
    account: AccountRow,
    today: date,
    parameters: Parameters,
) -> PairStanding:
    memory = memory_of(row) if row is not None else None
    both = skill.directions(pair.id, pair.first.id, pair.second.id)
    where = standing(memory, met=True, today=today, target_recall=account.target_recall, fresh=fresh, parameters=parameters)
    return PairStanding(
        pair=pair,
        standing=where,
        directions=both,
        due_day=row.due_day if row is not None else None,
        lacking=(fresh_lacking(fresh, pair.first.id, today=today), fresh_lacking(fresh, pair.second.id, today=today)),
        says=mixes_up_in_words(pair, both),
    )


def mixes_up_in_words(pair: Pair, both: tuple[Direction, Direction]) -> Said:
    """Say which way round a learner mixes a pair up, from her counts; without a miss, that there is none yet."""
    first_missed, second_missed = (direction.shown - direction.right for direction in both)
    if first_missed + second_missed == 0:
        return say("No miss yet")
    one, other = (pair.first.name, pair.second.name) if first_missed > second_missed else (pair.second.name, pair.first.name)
    if one == other:
        return say("You mix them up, both ways round")
    if first_missed == second_missed:
        return say("You mix them up about as often either way round")
    weak = both[0] if first_missed > second_missed else both[1]
    missed = weak.shown - weak.right
    if weak.shown < FEW_SHOWINGS:
        return say_n(
            "You took {one} for {other} the only time you were shown it: too few yet to say more",
            "You took {one} for {other} {missed} of {n} times: too few yet to say more",
            weak.shown,
            one=one,
            other=other,
            missed=missed,
        )
    return say(
        "You take {one} for {other}, {often} of late, on new pictures and known ones",
        one=one,
        other=other,
        often=times_in_words(weak.mixup_rate),
    )


def times_in_words(rate: float) -> Said:
    """Say how often a mix-up of that rate, 0 to 1, comes."""
    if rate >= 0.45:
        return say("about every other time")
    return say("about 1 time in {n}", n=max(2, round(1 / rate))) if rate > 0.05 else say("now and then")


def _said(db: Session, account_id: int) -> Mapping[Sure, tuple[int, int]]:
    """Return how often each word was said of a showing with two choices, and how often rightly; repeats count nowhere."""
    said: Counter[str] = Counter()
    right: Counter[str] = Counter()
    for one in sure_answers(db, account_id):
        asks = asked(one.asks)
        counts_as = judged_asks(asks, one, one.form_now) if len(asks[one.ask].choices) == 2 else None
        if counts_as is not None:
            said[one.sure] += one.times
            right[one.sure] += one.times if one.said == counts_as.key else 0
    return {sure: (said[sure.value], right[sure.value]) for sure in Sure}


def how_sure_in_words(lines: Sequence[CalibrationLine]) -> str:
    """Say in one sentence whether the learner's words promise too much or too little; empty where too little was said."""
    for line in lines:
        if line.forecast.said < SURE_ENOUGH:
            continue
        if line.likely.high < line.forecast.chance:
            promised = round(line.forecast.chance * 100)
            return say("Your {sure} is too sure: it promises {n} in 100. Say it less readily.", sure=line.sure.words, n=promised)
        if line.likely.low > line.forecast.chance:
            return say("Your {sure} is too modest: you are right more often than it promises.", sure=line.sure.words)
    if sum(line.forecast.said for line in lines) < SURE_ENOUGH:
        return ""
    if any(line.forecast.said and not line.likely.low <= line.forecast.chance <= line.likely.high for line in lines):
        return say("Where a line misses its post, the word was said too few times yet to hold you to it.")
    return say("What you say fits what you know, as far as these counts can tell.")
