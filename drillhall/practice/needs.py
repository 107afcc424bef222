"""Gathers what building the rounds of a pair needs beside the plan: lore, pictures, fresh answers, the trait missed last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.clusters import InCluster
from drillhall.core.kinds import form, trait
from drillhall.core.pairs import LATEST_ANSWERS, OLDEST_DAYS
from drillhall.core.stages import held_by_any
from drillhall.core.traits import likeliest
from drillhall.core.values import Candidate, FreshAnswer, Memory, Misses, PairLore, Rendition, Use
from drillhall.practice.behind import misses_by_trait
from drillhall.practice.judging import judged_asks
from drillhall.practice.logged import asked
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.planning import DrillPlan
from drillhall.practice.reader import reader_of
from drillhall.store.models.catalogue import CataloguePairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import RoundRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import log
from drillhall.store.queries.pictures import renditions_kept
from drillhall.store.queries.standing import fresh_answers

MANY_ROUNDS = 12
"""Whoever has been rated so often is asked no differently for more rounds begun; each rated round is one begun."""


@dataclass(frozen=True, slots=True)
class PairNeeds:
    """What building the rounds of one pair needs beside the plan."""

    lore: PairLore
    candidates: Sequence[Candidate]
    fresh: Sequence[FreshAnswer]
    rounds_begun: int
    missed_trait: str
    trait_misses: Mapping[str, Misses]
    neither_allowed: bool
    third_share: float


def the_needs(db: Session, account: AccountRow, plan: DrillPlan, *, today: date) -> dict[int, PairNeeds]:
    """Return what each pair of a plan needs, its spare rounds included."""
    pair_ids = {planned.pair_id for planned in (*plan.rounds, *plan.spares)}
    fresh = list_fresh(db, account.id, pair_ids, today=today)
    begun = _rounds_begun(db, account.id, pair_ids, plan.memories)
    missed = missed_traits(db, account.id, pair_ids)
    misread = misses_by_trait(db, account.id, today=today)
    by_catalogue: dict[int, set[int]] = defaultdict(set)
    for pair_id in pair_ids:
        by_catalogue[plan.catalogues[pair_id]].add(pair_id)
    found: dict[int, PairNeeds] = {}
    for catalogue_id, wanted in by_catalogue.items():
        lores = lore_of_pairs(db, catalogue_id, wanted, reader=reader_of(account))
        settings = _settings(db, catalogue_id, wanted)
        pictures = list_candidates(db, account.id, catalogue_id, lores.values(), on=today)
        for pair_id, lore in lores.items():
            forms = {lore.pair.first.id, lore.pair.second.id, *(third.form_id for third in lore.thirds)}
            stages = plan.stages.get(pair_id, ())
            found[pair_id] = PairNeeds(
                lore=lore,
                candidates=[one for one in pictures if one.form_id in forms and held_by_any(stages, one.pose, one.distance)],
                fresh=fresh.get(pair_id, []),
                rounds_begun=begun.get(pair_id, 0),
                missed_trait=missed.get(pair_id, ""),
                trait_misses=misread.get(catalogue_id, {}),
                neither_allowed=settings[pair_id].neither_allowed,
                third_share=settings[pair_id].third_share,
            )
    return found


def _rounds_begun(db: Session, account_id: int, pair_ids: AbstractSet[int], memories: Mapping[int, Memory]) -> Mapping[int, int]:
    """Return how many rounds of each pair were begun, and of a pair rated often how many were rated: the log is not read for long ones."""
    often = {pair_id: memories[pair_id].rounds for pair_id in pair_ids & memories.keys() if memories[pair_id].rounds >= MANY_ROUNDS}
    return {**log.rounds_begun(db, account_id, pair_ids - often.keys()), **often}


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
    kept = renditions_kept(db, [picture.id for picture, rights, _ in rows if rights.may_alter])
    return [
        Candidate(
            picture_id=picture.id,
            form_id=picture.form_id or 0,
            orientation=picture.orientation,
            setting=picture.setting,
            pose=picture.pose,
            distance=picture.distance,
            typical=picture.typical,
            seen_at=seen_at,
            own=picture.owner_id == account_id,
            shows=marked.get(picture.id),
            may_alter=rights.may_alter,
            renditions=kept.get(picture.id, frozenset()),
            scene=InCluster(picture.id, picture.cluster, picture.fingerprint, picture.taken_on),
        )
        for picture, rights, seen_at in rows
    ]


def list_fresh(db: Session, account_id: int, pair_ids: Iterable[int] | None, *, today: date) -> dict[int, list[FreshAnswer]]:
    """Return a learner's unaided answers on fresh pictures by pair, the earliest first; of a showing answered twice the first counts."""
    since = today - timedelta(days=OLDEST_DAYS + LATEST_ANSWERS)
    counted: set[tuple[int, int]] = set()
    found: dict[int, list[FreshAnswer]] = defaultdict(list)
    for one in fresh_answers(db, account_id, since=since, pair_ids=pair_ids):
        asks = asked(one.asks)
        if asks[one.ask].kind != form.KEY or (one.id, one.ask) in counted:
            continue
        counted.add((one.id, one.ask))
        if one.rendition != Rendition.AS_TAKEN.value:
            continue  # an extra
        counts_as = judged_asks(asks, one, one.form_now)
        if one.hint or one.prompted or counts_as is None or counts_as.third:
            continue  # helped answers are counted, and prove nothing
        found[one.pair_id].append(FreshAnswer(counts_as.form_id, one.said == counts_as.key, one.local_day, one.rounds_before))
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
