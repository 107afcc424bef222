"""Corrects what a picture is said to show, or undoes that, and has every answer given on it judged anew in the same piece of work."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core.labels import Label
from drillhall.people import audit
from drillhall.pictures import labels
from drillhall.practice.folding import count_answered, refold_pictures

Progress = Callable[[int, int], None]
"""Told how many learners are done, and of how many."""


@dataclass(frozen=True, slots=True)
class JudgedAnew:
    """What a correction did: whether it changed anything, how many answers it had judged anew, and of how many learners."""

    changed: bool
    answers: int = 0
    learners: int = 0


def what_would_change(db: Session, picture_id: int) -> JudgedAnew:
    """Return what a correction of a picture's label would have judged anew; reads only."""
    answers, learners = count_answered(db, [picture_id])
    return JudgedAnew(False, answers, learners)


def correct_label(
    db: Session, picture_id: int, label: Label, *, by: int, at: datetime, note: str = "", progress: Progress = lambda done, of: None
) -> JudgedAnew:
    """Say what a picture shows, and fold anew the pairs of everybody who has answered on it; whoever calls has asked who may."""
    if not labels.write_label(db, picture_id, label, by_id=by, at=at, note=note):
        return JudgedAnew(False)
    return _judge_anew(db, picture_id, "label corrected", by=by, at=at, progress=progress)


def undo_correction(
    db: Session, change_id: int, *, picture_id: int, by: int, at: datetime, progress: Progress = lambda done, of: None
) -> JudgedAnew:
    """Undo a correction: memory and counts become what they would be had it never been made."""
    labels.undo_label(db, change_id, picture_id=picture_id, by_id=by, at=at)
    return _judge_anew(db, picture_id, "label correction undone", by=by, at=at, progress=progress)


def _judge_anew(db: Session, picture_id: int, act: str, *, by: int, at: datetime, progress: Progress) -> JudgedAnew:
    answers, learners = refold_pictures(db, [picture_id], progress=progress)
    audit.note(db, act, at=at, by=by, subject=f"picture {picture_id}, {answers} answers of {learners} learners")
    return JudgedAnew(True, answers, learners)
