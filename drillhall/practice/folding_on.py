"""Folds a batch of answers on to what is stored, so that it costs the same after years; where that would not do, says so."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.folding import LoggedRound
from drillhall.core.folding_on import FoldedOn, TouchedRound, fold_on
from drillhall.practice.keeping_folds import add_folds
from drillhall.practice.logged import rounds_logged
from drillhall.practice.remembering import memory_of, parameters_of
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow
from drillhall.store.queries import log


def fold_answers(db: Session, account: AccountRow, rounds: Mapping[int, int], new: Collection[str]) -> set[int]:
    """Fold new answers on to the stored memories and counts of their pairs; return the pairs that must be folded whole instead.

    Parameters
    ----------
    account : the learner; her row is held.
    rounds : the rounds with new answers, each with its pair; neither day nor freshness of what they counted before has changed.
    new : ids of the answers, stored but not counted yet.
    """
    if not rounds:
        return set()
    parameters = parameters_of(db, account.id)
    touched = {pair_id: [_touched(one, new) for one in found] for pair_id, found in rounds_logged(db, rounds).items()}
    firsts = {pair_id: min(map(_first_at, found)) for pair_id, found in touched.items()}
    others = log.last_answers(db, account.id, since=min(firsts.values()), but=rounds)
    hers = select(MemoryRow).where(MemoryRow.account_id == account.id, MemoryRow.pair_id.in_(list(touched)))
    stored = {row.pair_id: row for row in db.scalars(hers.execution_options(populate_existing=True))}
    folds: dict[int, FoldedOn] = {}
    for pair_id, found in touched.items():
        if pair_id in others and others[pair_id] >= firsts[pair_id]:
            continue
        memory = memory_of(stored[pair_id]) if pair_id in stored else None
        fold = fold_on(memory, found, parameters=parameters)
        if fold is not None:
            folds[pair_id] = fold
    add_folds(db, account, folds, stored, parameters=parameters)
    return touched.keys() - folds.keys()


def _touched(logged: LoggedRound, new: Collection[str]) -> TouchedRound:
    shown = (replace(one, answers=tuple(answer for answer in one.answers if answer.id not in new)) for one in logged.showings)
    return TouchedRound(replace(logged, showings=tuple(shown)), logged)


def _first_at(one: TouchedRound) -> datetime:
    return min(answer.at for showing in one.after.showings for answer in showing.answers)
