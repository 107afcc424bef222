"""Plans and stores a learner's drill for today; asked again while it is open, it is the same one."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.confusion import first_share
from drillhall.core.pairs import settled_standing
from drillhall.core.rounds import build_round
from drillhall.core.rounds.beside import find_beside, may_stand_beside
from drillhall.core.rounds.choose import is_fresh
from drillhall.core.rounds.enough import not_yet_asked
from drillhall.core.values import Candidate, Outcome, PlannedRound, PlannedShowing, RoundNeeds
from drillhall.errors import Conflict
from drillhall.practice.asks import stored_ask
from drillhall.practice.days import day_begins, local_day
from drillhall.practice.left import pictures_left
from drillhall.practice.needs import PairNeeds, the_needs
from drillhall.practice.planning import DrillPlan, plan_for
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow
from drillhall.store.queries import log
from drillhall.words import say

GOOD_FOR = timedelta(days=14)
"""How long a drill may be played after it was planned; answers to an older one are still stored."""


def start_drill(db: Session, account_id: int, *, drill_id: str, at: datetime) -> str:
    """Plan today's drill, store it under `drill_id` and return its id; while one of today is open and unfinished, return that.

    Raises Conflict where there is nothing to drill, saying what to do first.
    """
    account = db.scalars(select(AccountRow).where(AccountRow.id == account_id).with_for_update()).one()
    today = local_day(account, at)
    current = log.open_drill(db, account_id, now=at)
    if current is not None:
        if current.planned_day == today and pictures_left(db, account_id, current.id, today=today):
            return current.id
        current.ended_at = at
    plan = plan_for(db, account, today=today)
    if not plan.pairs and plan.without_pictures:
        raise Conflict(say("Your pairs have no pictures that you may be shown. Take another set, or add pictures of your own."))
    if not plan.rounds:
        raise Conflict(say("There is nothing to drill yet. Take a pair set from the shelf first."))
    built = _build(db, account, plan, now=at, today=today)
    drill = DrillRow(
        id=drill_id,
        account_id=account_id,
        zone=account.zone,
        planned_at=at,
        planned_day=today,
        until=at + GOOD_FOR,
        minutes=account.minutes_a_day,
        showing_ms=round(plan.pace.showing_seconds * 1000),
        pace_ms=round(plan.pace.answer_seconds * 1000),
    )
    db.add(drill)
    db.flush()
    for place, one in enumerate(built):
        _store_round(db, drill, place, one, plan.catalogues[one.planned.pair_id])
    return drill_id


@dataclass(frozen=True, slots=True)
class _Built:
    """A round whose pictures are chosen: each showing with its picture and whether that is fresh, and the pair's rounds before."""

    planned: PlannedRound
    showings: Sequence[tuple[PlannedShowing, Candidate, bool]]
    rounds_before: int
    spare: bool


def _build(db: Session, account: AccountRow, plan: DrillPlan, *, now: datetime, today: date) -> list[_Built]:
    """Choose the pictures round by round; a picture used earlier in the drill counts as seen.

    Spare rounds choose last, and stand before the last round, which she is likely to hold.
    """
    needs = the_needs(db, account, plan, today=today)
    dice, beside_dice = (random.Random(f"{account.id} {now.isoformat()} {what}") for what in ("pictures", "side by side"))
    used: dict[int, datetime] = {}
    begun: Counter[int] = Counter()
    built: list[_Built] = []
    for number, planned in enumerate((*plan.rounds, *plan.spares)):
        need = needs.get(planned.pair_id)
        if need is None:
            continue
        moment = now + timedelta(seconds=number)
        rounds_before = need.rounds_begun + begun[planned.pair_id]
        candidates = [replace(picture, seen_at=used.get(picture.picture_id, picture.seen_at)) for picture in need.candidates]
        round_needs = _round_needs(plan, planned, need, rounds_before)
        seen_today = {one.picture_id for one in candidates if one.seen_at is not None and one.seen_at >= day_begins(account, today)}
        free = not_yet_asked(candidates, (seen_today, used), need.lore.pair, showings=planned.showings)
        showings = build_round(round_needs, free, now=moment, dice=dice)
        if not showings:
            continue
        showings = (*showings, *_beside(round_needs, candidates, showings, now=moment, dice=beside_dice))
        seen = {picture.picture_id: picture for picture in candidates}
        chosen = [(showing, seen[showing.picture_id], is_fresh(seen[showing.picture_id], now=now)) for showing in showings]
        built.append(_Built(planned, chosen, rounds_before, spare=number >= len(plan.rounds)))
        used.update((picture_id, moment) for showing in showings for picture_id in (showing.picture_id, showing.beside_id) if picture_id)
        begun[planned.pair_id] += 1
    regular, spares = ([one for one in built if one.spare is spare] for spare in (False, True))
    return [*regular[:-1], *spares, *regular[-1:]]


def _round_needs(plan: DrillPlan, planned: PlannedRound, need: PairNeeds, rounds_before: int) -> RoundNeeds:
    pair = need.lore.pair
    memory = plan.memories.get(planned.pair_id)
    met = plan.skill.has_met(planned.pair_id)
    return RoundNeeds(
        lore=need.lore,
        showings=planned.showings,
        rounds_before=rounds_before,
        first_share=first_share(plan.skill.directions(pair.id, pair.first.id, pair.second.id)),
        settled=settled_standing(memory, met=met, fresh=need.fresh),
        missed_last=memory is not None and memory.last is Outcome.MISSED,
        missed_trait=need.missed_trait,
        trait_misses=need.trait_misses,
        neither_allowed=need.neither_allowed,
        third_share=need.third_share,
    )


def _beside(
    needs: RoundNeeds, candidates: Sequence[Candidate], showings: Sequence[PlannedShowing], *, now: datetime, dice: random.Random
) -> list[PlannedShowing]:
    """Return what ends the round: two pictures side by side, or nothing."""
    if not may_stand_beside(needs.settled, rounds_before=needs.rounds_before):
        return []
    found = find_beside(needs.lore, candidates, {showing.picture_id for showing in showings}, now=now, dice=dice)
    return [found] if found else []


def _store_round(
    db: Session,
    drill: DrillRow,
    place: int,
    built: _Built,
    catalogue_id: int,
) -> None:
    logged = RoundRow(
        drill_id=drill.id,
        account_id=drill.account_id,
        pair_id=built.planned.pair_id,
        catalogue_id=catalogue_id,
        place=place,
        why=built.planned.why.value,
        rounds_before=built.rounds_before,
        ends_at_miss=True,
        spare=built.spare,
    )
    db.add(logged)
    db.flush()
    db.add_all(
        ShowingRow(
            round_id=logged.id,
            account_id=drill.account_id,
            place=number,
            picture_id=showing.picture_id,
            form_id=showing.form_id,
            rendition=showing.rendition.value,
            orientation=picture.orientation,
            first_sight=showing.first_sight,
            fresh=fresh,
            prompted=showing.prompted,
            third=showing.third,
            beside_id=showing.beside_id,
            asks=[stored_ask(ask) for ask in showing.asks],
        )
        for number, (showing, picture, fresh) in enumerate(built.showings)
    )
    db.flush()
