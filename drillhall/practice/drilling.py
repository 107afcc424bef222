"""Plans and stores a learner's drill for today; asked again while it is open, it is the same one."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.confusion import first_share
from drillhall.core.kinds import form, trait
from drillhall.core.pairs import LATEST_ANSWERS, OLDEST_DAYS, settled_standing
from drillhall.core.rounds import build_round
from drillhall.core.traits import likeliest
from drillhall.core.values import Candidate, FreshAnswer, Outcome, PairLore, PlannedRound, PlannedShowing, RoundNeeds, Use
from drillhall.errors import Conflict
from drillhall.practice.asks import stored_ask
from drillhall.practice.days import local_day
from drillhall.practice.judging import judged
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.planning import DrillPlan, plan_for
from drillhall.store.models.catalogue import CataloguePairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import log

GOOD_FOR = timedelta(days=14)
"""How long a drill may be played after it was planned; answers to an older one are still stored."""

STALE = timedelta(days=60)
"""A picture not seen for so long counts as fresh again."""


@dataclass(frozen=True, slots=True)
class PairNeeds:
    """What building the rounds of one pair needs beside the plan."""

    lore: PairLore
    candidates: Sequence[Candidate]
    fresh: Sequence[FreshAnswer]
    rounds_begun: int
    missed_trait: str
    neither_allowed: bool
    third_share: float


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
    if not plan.rounds and plan.without_pictures:
        raise Conflict("Your pairs have no pictures that you may be shown. Take another set, or add pictures of your own.")
    if not plan.rounds:
        raise Conflict("There is nothing to drill yet. Take a pair set from the shelf first.")
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
    for place, (planned, showings, rounds_before) in enumerate(built):
        _store_round(db, drill, place, planned, showings, rounds_before, plan.catalogues[planned.pair_id])
    return drill_id


def pictures_left(db: Session, account_id: int, drill_id: str, *, today: date) -> int:
    """Return how many pictures of a drill are still to be answered; a round left out for a withdrawn picture has none."""
    showings = log.showings_of(db, drill_id)
    answers = log.answers_of(db, drill_id)
    answered = {(row.showing_id, row.ask) for row in answers}
    begun = {row.showing_id for row in answers}
    gone = reading.withdrawn(db, account_id, [showing.id for showing in showings], on=today)
    left_out = {showing.round_id for showing in showings if showing.id in gone and showing.id not in begun}
    return sum(
        showing.round_id not in left_out and any((showing.id, place) not in answered for place in range(len(showing.asks)))
        for showing in showings
    )


Built = tuple[PlannedRound, list[tuple[PlannedShowing, Candidate, bool]], int]


def _build(db: Session, account: AccountRow, plan: DrillPlan, *, now: datetime, today: date) -> list[Built]:
    """Choose the pictures round by round; a picture used earlier in the drill counts as seen."""
    needs = _needs(db, account, plan, now=now, today=today)
    dice = random.Random(f"{account.id} {now.isoformat()} pictures")
    used: dict[int, datetime] = {}
    begun: Counter[int] = Counter()
    built: list[Built] = []
    for number, planned in enumerate(plan.rounds):
        need = needs.get(planned.pair_id)
        if need is None:
            continue
        moment = now + timedelta(seconds=number)
        rounds_before = need.rounds_begun + begun[planned.pair_id]
        candidates = [replace(picture, seen_at=used.get(picture.picture_id, picture.seen_at)) for picture in need.candidates]
        showings = build_round(_round_needs(plan, planned, need, rounds_before), candidates, now=moment, dice=dice)
        if not showings:
            continue
        seen = {picture.picture_id: picture for picture in candidates}
        chosen = [(showing, seen[showing.picture_id], _is_fresh(seen[showing.picture_id], now)) for showing in showings]
        built.append((planned, chosen, rounds_before))
        used.update((showing.picture_id, moment) for showing in showings)
        begun[planned.pair_id] += 1
    return built


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
        neither_allowed=need.neither_allowed,
        third_share=need.third_share,
    )


def _is_fresh(picture: Candidate, now: datetime) -> bool:
    if picture.own:
        return False
    return picture.seen_at is None or now - picture.seen_at >= STALE


def _needs(db: Session, account: AccountRow, plan: DrillPlan, *, now: datetime, today: date) -> dict[int, PairNeeds]:
    pair_ids = {planned.pair_id for planned in plan.rounds}
    fresh = list_fresh(db, account.id, pair_ids, today=today)
    begun = log.rounds_begun(db, account.id, pair_ids)
    missed = missed_traits(db, account.id, pair_ids)
    by_catalogue: dict[int, set[int]] = defaultdict(set)
    for pair_id in pair_ids:
        by_catalogue[plan.catalogues[pair_id]].add(pair_id)
    found: dict[int, PairNeeds] = {}
    for catalogue_id, wanted in by_catalogue.items():
        lores = lore_of_pairs(db, catalogue_id, wanted)
        settings = _settings(db, catalogue_id, wanted)
        pictures = list_candidates(db, account.id, catalogue_id, lores.values(), on=today)
        for pair_id, lore in lores.items():
            forms = {lore.pair.first.id, lore.pair.second.id, *(third.form_id for third in lore.thirds)}
            found[pair_id] = PairNeeds(
                lore=lore,
                candidates=[picture for picture in pictures if picture.form_id in forms],
                fresh=fresh.get(pair_id, []),
                rounds_begun=begun.get(pair_id, 0),
                missed_trait=missed.get(pair_id, ""),
                neither_allowed=settings[pair_id].neither_allowed,
                third_share=settings[pair_id].third_share,
            )
    return found


def _settings(db: Session, catalogue_id: int, pair_ids: Iterable[int]) -> Mapping[int, CataloguePairRow]:
    query = select(CataloguePairRow).where(CataloguePairRow.catalogue_id == catalogue_id, CataloguePairRow.pair_id.in_(list(pair_ids)))
    return {row.pair_id: row for row in db.scalars(query)}


def list_candidates(db: Session, account_id: int, catalogue_id: int, lores: Iterable[PairLore], *, on: date) -> list[Candidate]:
    """Return the practice pictures of some pairs and their thirds that the learner may be shown, in a steady order."""
    forms: set[int] = set()
    for lore in lores:
        forms |= {lore.pair.first.id, lore.pair.second.id, *(third.form_id for third in lore.thirds)}
    rows = reading.drillable(db, account_id, catalogue_id=catalogue_id, form_ids=forms, use=Use.PRACTICE.value, on=on)
    marked = reading.marked_traits(db, [picture.id for picture, _, _ in rows], catalogue_id=catalogue_id)
    return [
        Candidate(
            picture_id=picture.id,
            form_id=picture.form_id or 0,
            orientation=picture.orientation,
            setting=picture.setting,
            pose=picture.pose,
            typical=picture.typical,
            seen_at=seen_at,
            own=picture.owner_id == account_id,
            shows=marked.get(picture.id),
            may_alter=rights.may_alter,
        )
        for picture, rights, seen_at in rows
    ]


def list_fresh(db: Session, account_id: int, pair_ids: Iterable[int] | None, *, today: date) -> dict[int, list[FreshAnswer]]:
    """Return a learner's unaided answers on fresh pictures by pair, the earliest first; of a showing answered twice the first counts."""
    since = today - timedelta(days=OLDEST_DAYS + LATEST_ANSWERS)
    counted: set[tuple[int, int]] = set()
    found: dict[int, list[FreshAnswer]] = defaultdict(list)
    for answer, showing, logged, day, form_id in log.fresh_answers(db, account_id, since=since, pair_ids=pair_ids):
        if showing.asks[answer.ask]["kind"] != form.KEY or (showing.id, answer.ask) in counted:
            continue
        counted.add((showing.id, answer.ask))
        counts_as = judged(showing, form_id)
        if answer.hint or showing.prompted or counts_as is None or counts_as.third:
            continue  # helped answers are counted, and prove nothing
        right = answer.said == counts_as.key
        found[logged.pair_id].append(FreshAnswer(counts_as.form_id, right, day, logged.rounds_before))
    return found


def missed_traits(db: Session, account_id: int, pair_ids: Iterable[int]) -> dict[int, str]:
    """Return, by pair, the trait whose prompt the learner missed when it was last asked there.

    A prompt on a picture relabelled since says nothing, unless the form in force shows the same state.
    """
    latest: dict[int, str] = {}
    for answer, showing, logged, form_id in log.prompted_answers(db, account_id, pair_ids):
        ask = showing.asks[answer.ask]
        if ask["kind"] != trait.KEY or logged.pair_id in latest:
            continue
        if form_id != showing.form_id and not _shows(db, logged, form_id, trait_key=ask["trait"], state_key=ask["key"]):
            continue
        latest[logged.pair_id] = "" if answer.said == ask["key"] else ask["trait"]
    return latest


def _shows(db: Session, logged: RoundRow, form_id: int | None, *, trait_key: str, state_key: str) -> bool:
    """Whether a form of a round's pair usually shows a state, as the round's catalogue has it."""
    lore = lore_of_pairs(db, logged.catalogue_id, [logged.pair_id]).get(logged.pair_id)
    shown = next((one for one in lore.traits if one.key == trait_key), None) if lore is not None else None
    if lore is None or shown is None or form_id is None:
        return False
    chances = lore.chances.get(form_id, {}).get(trait_key)
    return chances is not None and likeliest(shown, chances).key == state_key


def _store_round(
    db: Session,
    drill: DrillRow,
    place: int,
    planned: PlannedRound,
    showings: Sequence[tuple[PlannedShowing, Candidate, bool]],
    rounds_before: int,
    catalogue_id: int,
) -> None:
    logged = RoundRow(
        drill_id=drill.id,
        account_id=drill.account_id,
        pair_id=planned.pair_id,
        catalogue_id=catalogue_id,
        place=place,
        why=planned.why.value,
        rounds_before=rounds_before,
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
            asks=[stored_ask(ask) for ask in showing.asks],
        )
        for number, (showing, picture, fresh) in enumerate(showings)
    )
    db.flush()
