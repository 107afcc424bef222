"""Takes a batch of answers from a learner's device, and tells it what has come of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core.values import Standing
from drillhall.practice.answering import NewAnswer, Stored, hold_learner, store_of
from drillhall.practice.playing import list_withdrawn
from drillhall.practice.reviewing import standings_of


@dataclass(frozen=True, slots=True)
class HandedIn:
    """What came of a batch: what was stored, how the pairs it touched stand now, and pictures that the device must delete."""

    stored: Stored
    standings: Mapping[int, Standing]
    withdrawn: tuple[str, ...]


def hand_in(db: Session, account_id: int, answers: Sequence[NewAnswer], *, received_at: datetime) -> HandedIn:
    """Store a learner's answers, as `store_answers` does, and say where she stands now."""
    learner = hold_learner(db, account_id, answers)
    stored = store_of(db, learner, answers, received_at=received_at)
    standings = standings_of(db, learner, stored.memories, now=received_at)
    return HandedIn(stored, standings, list_withdrawn(db, learner, now=received_at))
