"""Compares two sittings of the same learners: a test sat twice, or two tests."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from random import Random

from sqlalchemy.orm import Session

from drillhall.core.field_tests import Agreement, Changed, PairedDifference, agreement, mcnemar, paired_difference
from drillhall.core.values import Form, Pair
from drillhall.practice.field_tests.asked import Question
from drillhall.practice.field_tests.marking import Marked, first, latest_again, marked
from drillhall.practice.group_log import FEWEST
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.store.models.field_tests import FieldTestRow


@dataclass(frozen=True, slots=True)
class QuestionChanged:
    """A question that was met twice: its number in the earlier test, what it shows, and how it changed."""

    number: int
    pair: Pair
    form: Form
    changed: Changed


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two sittings of the same learners: by how much their shares changed, what they said of the same pictures, and each of those.

    `difference` is None where nobody sat both; `agreement` is over all answers to pictures met twice.
    """

    learners: int
    difference: PairedDifference | None
    agreement: Agreement
    questions: tuple[QuestionChanged, ...]


def compared(
    db: Session, earlier: FieldTestRow, later: FieldTestRow, *, kind: str, is_paid: bool, at: datetime, reader: Reader = ANYBODY
) -> Comparison:
    """Compare two tests of a group by each learner's first sitting; one test with itself, by her first and her latest one."""
    before = marked(db, earlier, kind=kind, is_paid=is_paid, at=at, which=first)
    after = marked(db, later, kind=kind, is_paid=is_paid, at=at, which=latest_again if earlier.id == later.id else first)
    rows = {one.account_id: place for place, one in enumerate(after.sitters)}
    both = _tellable(before, after, [(place, rows[one.account_id]) for place, one in enumerate(before.sitters) if one.account_id in rows])
    # Drawn again from the same dice, the interval is the same on every visit.
    dice = Random(f"{earlier.id} {later.id}")
    difference = paired_difference([before.sitters[row].share for row, _ in both], [after.sitters[row].share for _, row in both], dice=dice)
    twice = _met_twice(before, after)
    return Comparison(
        len(both), difference, _agreement(before, after, both, twice), _questions(db, earlier, before, after, both, twice, reader)
    )


def _tellable(before: Marked, after: Marked, both: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return those who sat both, and of the others than those seen by name all or none: those left out, of each sum too, must be five."""
    named = [one for one in both if before.sitters[one[0]].is_named]
    veiled = len(both) - len(named)
    left_out = [sum(not one.is_named for one in marked.sitters) - veiled for marked in (before, after)]
    return both if veiled >= FEWEST and all(not count or count >= FEWEST for count in left_out) else named


def _met_twice(before: Marked, after: Marked) -> list[tuple[int, int]]:
    """Return the columns of the questions that ask the same picture of the same pair."""
    places = {(one.pair_id, one.picture_id): place for place, one in enumerate(after.questions)}
    keys = [(one.pair_id, one.picture_id) for one in before.questions]
    return [(place, places[key]) for place, key in enumerate(keys) if key in places]


def _agreement(before: Marked, after: Marked, both: list[tuple[int, int]], twice: list[tuple[int, int]]) -> Agreement:
    said = [
        (one, other)
        for early, late in both
        for here, there in twice
        if (one := before.sitters[early].said[here]) and (other := after.sitters[late].said[there])
    ]
    return agreement([one for one, _ in said], [other for _, other in said])


def _questions(
    db: Session,
    test: FieldTestRow,
    before: Marked,
    after: Marked,
    both: list[tuple[int, int]],
    twice: list[tuple[int, int]],
    reader: Reader,
) -> tuple[QuestionChanged, ...]:
    asked: list[Question] = [before.questions[here] for here, _ in twice]
    lores = lore_of_pairs(db, test.catalogue_id, {one.pair_id for one in asked}, reader=reader)
    told = []
    for one, (here, there) in zip(asked, twice, strict=True):
        pair = lores[one.pair_id].pair
        changed = mcnemar([before.sitters[row].right[here] for row, _ in both], [after.sitters[row].right[there] for _, row in both])
        told.append(QuestionChanged(one.place, pair, pair.form(one.key), changed))
    return tuple(told)
