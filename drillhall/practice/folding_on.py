"""Folds a batch of answers on to what is stored, so that it costs the same after years; where that would not do, says so."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from drillhall.core.folding import LoggedAnswer, LoggedRound
from drillhall.core.folding_on import FoldedOn, TouchedRound, fold_on
from drillhall.core.freshness import NewSight
from drillhall.core.values import Memory
from drillhall.practice.folding import set_days
from drillhall.practice.freshness import judge_new, refold_freshness
from drillhall.practice.keeping_folds import add_folds
from drillhall.practice.logged import logged_round, logged_showing
from drillhall.practice.remembering import memory_of, parameters_in
from drillhall.store.models.practice import ShowingRow
from drillhall.store.queries import batch, sights
from drillhall.store.queries.batch import Learner


@dataclass(frozen=True, slots=True)
class Given:
    """What some rounds were answered, by showing: `before` is counted already, `new` is stored and not counted. No list is empty.

    showings : every showing of the rounds, as `batch.showings` reads it.
    """

    showings: Sequence[Row[Any]]
    before: Mapping[int, list[LoggedAnswer]]
    new: Mapping[int, list[LoggedAnswer]]

    def answered(self) -> list[Row[Any]]:
        """Return the showings that have new answers."""
        return [row for row in self.showings if row.id in self.new]

    def begun(self) -> dict[int, datetime]:
        """Return when each showing with new answers was answered first, where a new answer is that."""
        found = {}
        for showing_id, new in self.new.items():
            first = min(answer.at for answer in new)
            if all(first < answer.at for answer in self.before.get(showing_id, ())):
                found[showing_id] = first
        return found


def fold_answers(db: Session, learner: Learner, given: Given) -> tuple[dict[int, Memory | None], set[int]]:
    """Fold new answers on to all that is stored.

    Parameters
    ----------
    learner : her account is held.

    Returns
    -------
    The memory of each pair folded, and the pairs of which memory and counts must be folded whole instead.
    """
    days, whole = _days(db, learner.id, given)
    seen = _sights(given)
    stored = batch.sights_of(db, learner.id, seen)
    fresh, otherwise = _freshness(db, learner.id, given, stored)
    whole |= otherwise
    folded, late = _fold_pairs(db, learner, given, days, fresh, but=whole)
    sights.keep(db, [_brought_forward(learner.id, picture, stored.get(picture), new) for picture, new in seen.items()])
    return folded, whole | late


def _days(db: Session, account_id: int, given: Given) -> tuple[Mapping[str, date], set[int]]:
    """Return the local days of the drills, set where a new answer is the first of its drill, and the pairs of those moved to others."""
    days: dict[str, date] = {}
    firsts: dict[str, tuple[str, datetime]] = {}
    for row in given.answered():
        first = min(answer.at for answer in given.new[row.id])
        known = firsts[row.drill_id][1] if row.drill_id in firsts else row.first_at
        if row.local_day is None or known is None or first < known:
            firsts[row.drill_id] = (row.zone, first if known is None else min(first, known))
        else:
            days[row.drill_id] = row.local_day
    looked_at, moved = set_days(db, account_id, firsts)
    return days | looked_at, batch.pairs_of_drills(db, moved)


def _freshness(db: Session, account_id: int, given: Given, stored: Mapping[int, Row[Any]]) -> tuple[dict[int, bool], set[int]]:
    """Set first sight and freshness of showings; return what has come out, by showing, and the pairs that are counted otherwise now."""
    new: dict[int, list[NewSight]] = defaultdict(list)
    unread: set[int] = set()
    own: set[int] = set()
    begun = given.begun()
    for row in given.answered():
        if row.id not in begun:
            continue
        if row.id in given.before:
            unread |= {one for one in (row.picture_id, row.beside_id) if one}
        new[row.picture_id].append(NewSight(begun[row.id], row.id))
        if row.owner_id == account_id:
            own.add(row.picture_id)
        if row.beside_id:
            new[row.beside_id].append(NewSight(begun[row.id], None))
    settled = {picture: seen for picture, seen in new.items() if picture not in unread}
    judged, more = judge_new(db, account_id, settled, sights=stored, own=own)
    kept = {row.id: (row.first_sight, row.fresh) for row in given.showings}
    batch.keep_freshness(db, {showing_id: told for showing_id, told in judged.items() if kept[showing_id] != told})
    fresh = {showing_id: is_fresh for showing_id, (_, is_fresh) in judged.items()}
    if not (unread := unread | more):
        return fresh, set()
    changed = refold_freshness(db, account_id, unread, new=Counter({showing_id: len(answers) for showing_id, answers in given.new.items()}))
    now = select(ShowingRow.id, ShowingRow.fresh).where(ShowingRow.id.in_([row.id for row in given.showings]))
    return {row.id: row.fresh for row in db.execute(now)}, changed


def _fold_pairs(
    db: Session, learner: Learner, given: Given, days: Mapping[str, date], fresh: Mapping[int, bool], *, but: Collection[int]
) -> tuple[dict[int, Memory | None], set[int]]:
    """Fold the answers on to the memories and counts of their pairs, some left out; return these, and the pairs to be folded whole."""
    touched = {pair_id: rounds for pair_id, rounds in _touched(given, days, fresh).items() if pair_id not in but}
    if not touched:
        return {}, set()
    parameters = parameters_in(learner.parameters)
    stored: dict[int, Memory | None] = dict.fromkeys(touched)
    stored |= {pair_id: memory_of(row) for pair_id, row in batch.memories(db, learner.id, touched).items()}
    firsts = {pair_id: min(one.first_at for one in rounds) for pair_id, rounds in touched.items()}
    rounds = {one.after.id for found in touched.values() for one in found}
    since, others = min(firsts.values()), dict[int, datetime]()
    if learner.last_at is not None and learner.last_at >= since:
        others = batch.last_answers(db, learner.id, since=since, but=rounds)
    folds: dict[int, FoldedOn] = {}
    for pair_id, found in touched.items():
        if pair_id in others and others[pair_id] >= firsts[pair_id]:
            continue
        fold = fold_on(stored[pair_id], found, parameters=parameters)
        if fold is not None:
            folds[pair_id] = fold
    add_folds(db, learner, folds, stored, parameters=parameters)
    return {pair_id: fold.memory for pair_id, fold in folds.items()}, touched.keys() - folds.keys()


def _touched(given: Given, days: Mapping[str, date], fresh: Mapping[int, bool]) -> dict[int, list[TouchedRound]]:
    """Return the rounds that have new answers, by pair."""
    rounds: dict[int, list[Row[Any]]] = defaultdict(list)
    for row in given.showings:
        rounds[row.round_id].append(row)
    found: dict[int, list[TouchedRound]] = defaultdict(list)
    for rows in rounds.values():
        if any(row.id in given.new for row in rows):
            day = days[rows[0].drill_id]
            before = _round(rows, given.before, {}, day, fresh) if any(row.id in given.before for row in rows) else None
            after = _round(rows, given.before, given.new, day, fresh)
            found[rows[0].pair_id].append(TouchedRound(before, after))
    return found


def _round(
    rows: Iterable[Row[Any]],
    before: Mapping[int, Iterable[LoggedAnswer]],
    new: Mapping[int, Iterable[LoggedAnswer]],
    day: date,
    fresh: Mapping[int, bool],
) -> LoggedRound:
    shown = [logged_showing(row, (*before.get(row.id, ()), *new.get(row.id, ())), fresh=fresh.get(row.id)) for row in rows]
    return logged_round(next(iter(rows)), shown, day=day)


def _sights(given: Given) -> dict[int, list[tuple[datetime, int]]]:
    """Return by picture when it was answered now, and how many showings of it had no answer before."""
    found: dict[int, list[tuple[datetime, int]]] = defaultdict(list)
    for row in given.answered():
        for picture in {row.picture_id, row.beside_id} - {None}:
            found[picture].append((min(answer.at for answer in given.new[row.id]), int(row.id not in given.before)))
            found[picture].append((max(answer.at for answer in given.new[row.id]), 0))
    return found


def _brought_forward(account_id: int, picture: int, row: Row[Any] | None, new: Iterable[tuple[datetime, int]]) -> dict[str, Any]:
    times, more = [at for at, _ in new], sum(count for _, count in new)
    if row is not None:
        times, more = [*times, row.first_at, row.last_at], more + row.times
    return {"account_id": account_id, "picture_id": picture, "first_at": min(times), "last_at": max(times), "times": more}
