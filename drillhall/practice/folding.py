"""Keeps memory, tally, sights and local days in step with the log: each is computed from the answers alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime

from sqlalchemy import delete, exists, func, select
from sqlalchemy.orm import Session, aliased

from drillhall.core.folding import days_of_drills, fold_pair
from drillhall.core.memory import due_day
from drillhall.practice.freshness import refold_freshness
from drillhall.practice.keeping_folds import keep_folds
from drillhall.practice.logged import logged_rounds
from drillhall.practice.remembering import memory_of, parameters_of
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import (
    AnswerRow,
    BesideTallyRow,
    DrillRow,
    MemoryRow,
    PromptTallyRow,
    RoundRow,
    ShowingRow,
    SightRow,
    TallyRow,
    TallyYearRow,
)
from drillhall.store.queries import batch, log, sights


def rebuild(db: Session, *, progress: Callable[[int, int], None] = lambda done, of: None) -> int:
    """Compute every memory, tally, sight and local day again from the answers; return how many learners that was.

    Parameters
    ----------
    progress : called with (learners done, learners in all) after each.
    """
    rarities = log.rarity_pictures(db)
    learners = sorted({*db.scalars(select(AnswerRow.account_id).distinct()), *rarities})
    for table in (MemoryRow, TallyRow, TallyYearRow, PromptTallyRow, BesideTallyRow, SightRow):
        db.execute(delete(table))
    for number, account_id in enumerate(learners, 1):
        drills = db.scalars(select(DrillRow.id).where(DrillRow.account_id == account_id)).all()
        refold_days(db, account_id, drills)
        shown = sights.pictures_shown(db, account_id)
        refold_freshness(db, account_id, shown, new={})
        pairs = db.scalars(select(RoundRow.pair_id).where(RoundRow.account_id == account_id).distinct()).all()
        refold_pairs(db, account_id, pairs)
        refold_sights(db, account_id, {*shown, *rarities.get(account_id, ())})
        progress(number, len(learners))
    return len(learners)


def refold_days(db: Session, account_id: int, drill_ids: Iterable[str]) -> None:
    """Set the local day of some drills and of those after them, from their answers."""
    set_days(db, account_id, _first_answers(db, drill_ids))


def set_days(db: Session, account_id: int, firsts: Mapping[str, tuple[str, datetime]]) -> tuple[dict[str, date], set[str]]:
    """Set the local day of some drills, told with their zone and first answer, and of those after them.

    Return the days that have been looked at, by drill, and the drills that had another day.
    """
    if not firsts:
        return {}, set()
    since = min(first_at for _, first_at in firsts.values())
    before, later = batch.drills_since(db, account_id, since)
    stored = {one.id: one for one in later}
    begun = {one.id: (one.zone, one.first_at) for one in later} | dict(firsts)
    days = days_of_drills([(drill_id, *told) for drill_id, told in begun.items()], not_before=before)
    drills = [batch.DrillDay(drill_id, *begun[drill_id], day) for drill_id, day in days.items()]
    batch.keep_days(db, [one for one in drills if stored.get(one.id) != one])
    return days, {one.id for one in later if one.local_day not in (None, days[one.id])}


def _first_answers(db: Session, drill_ids: Iterable[str]) -> dict[str, tuple[str, datetime]]:
    query = (
        select(DrillRow.id, DrillRow.zone, func.min(AnswerRow.at).label("first_at"))
        .join(RoundRow, RoundRow.drill_id == DrillRow.id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(DrillRow.id.in_(list(drill_ids)))
        .group_by(DrillRow.id, DrillRow.zone)
    )
    return {row.id: (row.zone, row.first_at) for row in db.execute(query)}


def refold_pairs(db: Session, account_id: int, pair_ids: Iterable[int]) -> None:
    """Fold the whole log of some pairs of a learner and store what it comes to."""
    account = db.get_one(AccountRow, account_id)
    parameters = parameters_of(db, account_id)
    logs = logged_rounds(db, account_id, pair_ids)
    folds = {pair_id: fold_pair(logs.get(pair_id, []), parameters=parameters) for pair_id in sorted(set(pair_ids))}
    keep_folds(db, account, folds, parameters=parameters)


def refold_pictures(
    db: Session, picture_ids: Iterable[int], *, progress: Callable[[int, int], None] = lambda done, of: None
) -> tuple[int, int]:
    """Fold anew every pair of which a learner has begun a round with some pictures, whose labels have changed in this piece of work.

    Parameters
    ----------
    picture_ids : their rows are written already, so that an answer given meanwhile waits for us or we for it.
    progress : called with (learners done, learners in all) after each.

    Returns
    -------
    How many pictures answered were judged anew, and of how many learners. What each has seen, and when, does not hang on labels.
    """
    wanted = sorted(set(picture_ids))
    beside = aliased(ShowingRow)  # another picture's answer may have left the round waiting for this one
    touched = (
        select(RoundRow.account_id, RoundRow.pair_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .where(log.shows_any(wanted))
        .where(exists().where(beside.round_id == RoundRow.id, AnswerRow.showing_id == beside.id))
        .distinct()
    )
    pairs: dict[int, set[int]] = defaultdict(set)
    for account_id, pair_id in db.execute(touched):
        pairs[account_id].add(pair_id)
    for number, account_id in enumerate(sorted(pairs), 1):
        db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())
        refold_pairs(db, account_id, pairs[account_id])
        progress(number, len(pairs))
    return count_answered(db, wanted)


def count_answered(db: Session, picture_ids: Iterable[int]) -> tuple[int, int]:
    """Return how many showings of some pictures have been answered, and by how many learners."""
    return log.count_answered(db, picture_ids)


def rewrite_due_days(db: Session, account_id: int) -> None:
    """Derive a learner's due days again: her target recall has changed, which is no part of history."""
    account = db.scalars(select(AccountRow).where(AccountRow.id == account_id).with_for_update()).one()
    target, parameters = account.target_recall, parameters_of(db, account_id)
    for row in db.scalars(select(MemoryRow).where(MemoryRow.account_id == account_id)):
        memory = memory_of(row)
        row.due_day = due_day(memory, target_recall=target, account_id=account_id, pair_id=row.pair_id, parameters=parameters)
    db.flush()


def refold_sights(db: Session, account_id: int, picture_ids: Iterable[int]) -> None:
    """Set the learner's first and last sight of some pictures."""
    pictures = set(picture_ids)
    seen: dict[int, tuple[datetime, datetime, int]] = {}
    for picture_id, first, last, times in (*sights.seen_in_drills(db, account_id, pictures), *log.rarity_sights(db, account_id, pictures)):
        known = seen.get(picture_id)
        seen[picture_id] = (min(first, known[0]), max(last, known[1]), times + known[2]) if known else (first, last, times)
    db.execute(delete(SightRow).where(SightRow.account_id == account_id, SightRow.picture_id.in_(pictures)))
    db.add_all(
        SightRow(account_id=account_id, picture_id=picture_id, first_at=first, last_at=last, times=times)
        for picture_id, (first, last, times) in seen.items()
    )
    db.flush()
