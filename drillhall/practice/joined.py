"""Two forms that became one, as their learners meet it: their logs folded anew, and told to each of them once."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, String, cast, delete, func, or_, select, union
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.practice.folding import refold_pairs
from drillhall.store.models.concepts import NameRow, PairRow, VernacularRow
from drillhall.store.models.joins import ConceptJoinMoveRow, ConceptJoinNoticeRow, ConceptJoinRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import (
    AnswerRow,
    BesideTallyRow,
    HallRateRow,
    MemoryRow,
    PromptTallyRow,
    RoundRow,
    ShowingRow,
    TallyRow,
)
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a joining would touch: learners, answered rounds and pairs that come to count for the form that stays; rounds that fall away."""

    learners: int
    rounds: int
    pairs: int
    fall_away: int


@dataclass(frozen=True, slots=True)
class JoinNotice:
    """That two concepts are one now: what either is called, since when, and how many of her rounds that touched."""

    join_id: int
    one: str
    other: str
    at: datetime
    rounds: int
    fell_away: int


def foresee(db: Session, lost: Collection[int], kept: Collection[int]) -> Foreseen:
    """Return what it would touch if some forms came to be told as some others; reads only."""
    named = or_(PairRow.first_form_id.in_(lost), PairRow.second_form_id.in_(lost))
    both = set(lost) | set(kept)
    pairs = {pair.id: {pair.first_form_id, pair.second_form_id} <= both for pair in db.scalars(select(PairRow).where(named))}
    counted = _rounds_begun(db, RoundRow.pair_id.in_(pairs))
    moved = [rounds for (_, pair_id), rounds in counted.items() if not pairs[pair_id]]
    return Foreseen(
        learners=len({account_id for account_id, _ in counted}),
        rounds=sum(moved),
        pairs=len({pair_id for _, pair_id in counted if not pairs[pair_id]}),
        fall_away=sum(counted.values()) - sum(moved),
    )


def fold_anew(db: Session, pair_ids: Iterable[int], *, progress: Callable[[int, int], None] = lambda done, of: None) -> int:
    """Fold anew the log of everybody who has any of some pairs, and forget what the hall had summed of them; return how many that was."""
    wanted = sorted(set(pair_ids))
    kept = [
        select(row.account_id, row.pair_id).where(row.pair_id.in_(wanted))
        for row in (RoundRow, MemoryRow, TallyRow, PromptTallyRow, BesideTallyRow)
    ]
    hers: dict[int, set[int]] = defaultdict(set)
    for account_id, pair_id in db.execute(union(*kept)):
        hers[account_id].add(pair_id)
    for done, account_id in enumerate(sorted(hers), 1):
        db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())
        refold_pairs(db, account_id, hers[account_id])
        progress(done, len(hers))
    db.execute(delete(HallRateRow).where(HallRateRow.pair_id.in_(wanted)))
    return len(hers)


def note_learners(db: Session, join_id: int, fell_away: Collection[int]) -> int:
    """Let each learner whose rounds a joining touched be told of it once; return how many that is."""
    moves = select(ConceptJoinMoveRow.row_key).where(
        ConceptJoinMoveRow.join_id == join_id, ConceptJoinMoveRow.table_name == "round", ConceptJoinMoveRow.column_name == "pair_id"
    )
    moved, fallen = _by_learner(db, cast(RoundRow.id, String).in_(moves)), _by_learner(db, RoundRow.pair_id.in_(fell_away))
    for account_id in sorted(moved.keys() | fallen.keys()):
        db.add(ConceptJoinNoticeRow(join_id=join_id, account_id=account_id, rounds=moved[account_id], fell_away=fallen[account_id]))
    db.flush()
    return len(moved.keys() | fallen.keys())


def list_notices(db: Session, account_id: int) -> tuple[JoinNotice, ...]:
    """Return what a learner is still to be told of concepts that have become one, the latest first."""
    query = (
        select(ConceptJoinRow, ConceptJoinNoticeRow)
        .join(ConceptJoinNoticeRow, ConceptJoinNoticeRow.join_id == ConceptJoinRow.id)
        .where(ConceptJoinNoticeRow.account_id == account_id, ConceptJoinNoticeRow.put_away_at.is_(None))
        .order_by(ConceptJoinRow.id.desc())
    )
    found = [(row, notice) for row, notice in db.execute(query)]
    names = _names(db, {concept for row, _ in found for concept in (row.subject_id, row.object_id)}) if found else {}
    return tuple(
        JoinNotice(row.id, names[row.subject_id], names[row.object_id], row.at, notice.rounds, notice.fell_away) for row, notice in found
    )


def put_away(db: Session, account_id: int, join_id: int, *, at: datetime) -> None:
    """Tell a learner no more of a joining; raises NotFound where she is not told of it."""
    row = db.get(ConceptJoinNoticeRow, (join_id, account_id))
    if row is None:
        raise NotFound(say("There is no such notice of yours."))
    row.put_away_at = row.put_away_at or at


def _rounds_begun(db: Session, which: ColumnElement[bool]) -> dict[tuple[int, int], int]:
    """Return how many of some rounds have an answer, by learner and pair."""
    query = (
        select(RoundRow.account_id, RoundRow.pair_id, func.count(func.distinct(RoundRow.id)))
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(which)
        .group_by(RoundRow.account_id, RoundRow.pair_id)
    )
    return {(account_id, pair_id): int(rounds) for account_id, pair_id, rounds in db.execute(query)}


def _by_learner(db: Session, which: ColumnElement[bool]) -> Counter[int]:
    counted: Counter[int] = Counter()
    for (account_id, _), rounds in _rounds_begun(db, which).items():
        counted[account_id] += rounds
    return counted


def _names(db: Session, concept_ids: Collection[int]) -> dict[int, str]:
    """Return what each concept is called: its common name with the scientific one, each as first written down, as far as known."""
    latin = select(NameRow).where(NameRow.concept_id.in_(concept_ids)).order_by(NameRow.id.desc())
    spoken = select(VernacularRow).where(VernacularRow.concept_id.in_(concept_ids)).order_by(VernacularRow.id.desc())
    science = {row.concept_id: row.scientific_name for row in db.scalars(latin)}
    common = {row.concept_id: row.name for row in db.scalars(spoken)}
    names: dict[int, str] = {}
    for concept_id in concept_ids:
        known = [one for one in (common.get(concept_id), science.get(concept_id)) if one]
        names[concept_id] = f"{known[0]} ({known[1]})" if len(known) == 2 else "".join(known)
    return names
