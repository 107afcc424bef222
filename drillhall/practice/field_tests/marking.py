"""Marks sittings: whose count, what each said of each question, and whether it was right by the key as it is now."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core.confusion import guessing
from drillhall.practice.field_tests.asked import Question, the_questions
from drillhall.practice.field_tests.sitting import is_over
from drillhall.practice.group_log import FEWEST
from drillhall.store.models.field_tests import FieldTestRow, SittingRow
from drillhall.store.queries import field_tests as reading
from drillhall.store.queries import leader

CHOICES = 2


@dataclass(frozen=True, slots=True)
class Sitter:
    """Somebody whose sitting counts: what she said of each question in the test's order, 0 for nothing; `is_named` to whoever leads."""

    account_id: int
    name: str
    is_named: bool
    said: tuple[int, ...]
    right: tuple[bool, ...]

    @property
    def score(self) -> int:
        """How many she had right."""
        return sum(self.right)

    @property
    def answered(self) -> int:
        """How many she answered."""
        return sum(said != 0 for said in self.said)

    @property
    def share(self) -> float:
        """The share of the questions that she had right, 0 to 1."""
        return self.score / len(self.right) if self.right else 0.0

    @property
    def by_guessing(self) -> float:
        """The chance that a mere guesser would have had so many right or more."""
        return guessing(self.score, len(self.right), CHOICES)


@dataclass(frozen=True, slots=True)
class Marked:
    """A test as it was sat: its questions that count, in order, and those who may be told of, by name.

    `untold` sat it as well, but let nobody see it, and are fewer than five, or not told of yet or any more; `uncounted` may have known
    the pictures; `blank` answered nothing; `unfinished` are still sitting.
    """

    questions: tuple[Question, ...]
    dropped: tuple[Question, ...]
    sitters: tuple[Sitter, ...]
    untold: int
    uncounted: int
    blank: int
    unfinished: int

    @property
    def matrix(self) -> list[tuple[bool, ...]]:
        """Right or not, sitters × questions."""
        return [one.right for one in self.sitters]


Chosen = Callable[[Sequence[SittingRow]], SittingRow | None]


def first(sittings: Sequence[SittingRow]) -> SittingRow | None:
    """Choose somebody's first sitting of a test, on pictures that she had not seen in it."""
    return sittings[0] if sittings else None


def latest_again(sittings: Sequence[SittingRow]) -> SittingRow | None:
    """Choose somebody's latest sitting of a test that she has sat more than once."""
    return sittings[-1] if len(sittings) > 1 else None


def marked(db: Session, test: FieldTestRow, *, kind: str, is_paid: bool, at: datetime, which: Chosen = first) -> Marked:
    """Mark a test by one sitting of each who learns in the group now and has sat it since she joined.

    A teacher of a class may be told of everybody; whoever leads a club, of those who agreed, and of the others where there are five,
    once nobody can sit it any more, and as long as none of them has left: the sum before less the sum after would be one person's.
    """
    questions = the_questions(db, test, is_paid=is_paid, at=at)
    live = tuple(one for one in questions if not one.is_dropped)
    rows = reading.sittings(db, test.id)
    over = [row for row in rows if is_over(row, test, at)]
    learners = leader.learners(db, test.group_id)
    chosen = {}
    for one in learners:
        hers = [row for row in over if row.account_id == one.account_id and row.counts and row.begun_at >= one.since]
        if (row := which(hers)) is not None:
            chosen[one.account_id] = row
    said = _said(db, [row.id for row in chosen.values()])
    sat = [
        _sitter(one, said.get(chosen[one.account_id].id, {}), live, is_named=kind == "class" or one.lets_leader_see)
        for one in learners
        if one.account_id in chosen
    ]
    counted = [one for one in sat if one.answered]
    veiled = [one for one in counted if not one.is_named]
    is_settled = at >= test.until and len(over) == len(rows) and not _somebody_left(over, learners)
    told = counted if is_settled and len(veiled) >= FEWEST else [one for one in counted if one.is_named]
    return Marked(
        questions=live,
        dropped=tuple(one for one in questions if one.is_dropped),
        sitters=tuple(told),
        untold=len(counted) - len(told),
        uncounted=len({row.account_id for row in over if not row.counts}),
        blank=len(sat) - len(counted),
        unfinished=len(rows) - len(over),
    )


def _somebody_left(over: Sequence[SittingRow], learners: Sequence[leader.LearnerIn]) -> bool:
    """Whether a sitting counted of somebody who learns here no more, or has come back since."""
    since = {one.account_id: one.since for one in learners}
    return any(row.counts and (row.account_id not in since or row.begun_at < since[row.account_id]) for row in over)


def mark_one(db: Session, row: SittingRow, questions: Sequence[Question]) -> tuple[tuple[int, ...], tuple[bool, ...]]:
    """Return what was said in one sitting of each of some questions, and whether it was right."""
    said = _said(db, [row.id]).get(row.id, {})
    given = tuple(said.get(one.id, 0) for one in questions)
    return given, tuple(form_id == one.key for form_id, one in zip(given, questions, strict=True))


def _said(db: Session, sitting_ids: Sequence[str]) -> dict[str, dict[int, int]]:
    found: dict[str, dict[int, int]] = {}
    for item in reading.items(db, sitting_ids):
        found.setdefault(item.sitting_id, {})[item.question_id] = item.said_form_id or 0
    return found


def _sitter(one: leader.LearnerIn, said: dict[int, int], questions: Sequence[Question], *, is_named: bool) -> Sitter:
    given = tuple(said.get(question.id, 0) for question in questions)
    right = tuple(form_id == question.key for form_id, question in zip(given, questions, strict=True))
    return Sitter(one.account_id, one.name, is_named, given, right)
