"""A group's tests as whoever leads it keeps them: the list, shutting one early, releasing its results, calling it off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.errors import Conflict, NotFound
from drillhall.practice.field_tests.asked import the_questions
from drillhall.practice.field_tests.sitting import is_over
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.queries import field_tests as reading
from drillhall.store.queries import leader
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class TestLine:
    """A test in a group's list: `begun` sittings, running or over."""

    __test__ = False

    id: int
    title: str
    state: str
    opens_at: datetime
    until: datetime
    questions: int
    begun: int


@dataclass(frozen=True, slots=True)
class FieldTest:
    """A test as whoever leads the group sees it; `state` is "to come", "open", "shut" or "called off".

    `dropped` of its questions count for nobody; `spent` of its pictures somebody who learns in the group had seen before this test.
    `running` sittings are not over yet.
    """

    id: int
    title: str
    catalogue: str
    catalogue_id: int
    questions: int
    dropped: int
    spent: int
    minutes: int | None
    opens_at: datetime
    until: datetime
    repeats: bool
    may_pause: bool
    state: str
    released_at: datetime | None
    sat: int
    running: int


def list_tests(db: Session, group_id: int, *, at: datetime) -> tuple[TestLine, ...]:
    """Return a group's tests, the latest first."""
    rows = reading.tests_of_group(db, group_id)
    questions, sittings = reading.count_questions(db, [row.id for row in rows]), reading.count_sittings(db, [row.id for row in rows])
    return tuple(
        TestLine(row.id, row.title, _state(row, at), row.opens_at, row.until, questions.get(row.id, 0), sittings.get(row.id, 0))
        for row in rows
    )


def the_test(db: Session, group_id: int, test_id: int, *, is_paid: bool, at: datetime) -> FieldTest:
    """Return a test of a group, or raise NotFound."""
    return _told(db, the_row(db, group_id, test_id), is_paid=is_paid, at=at)


def the_row(db: Session, group_id: int, test_id: int) -> FieldTestRow:
    """Return the row of a group's test, or raise NotFound."""
    row = db.get(FieldTestRow, test_id)
    if row is None or row.group_id != group_id:
        raise NotFound(say("There is no such test of this group."))
    return row


def shut(db: Session, group_id: int, test_id: int, *, at: datetime) -> None:
    """Let nobody begin a test any more; whoever is sitting it has her time; whoever has no limit, or has stopped the clock, is through.

    Raises Conflict where it has not opened; shut already, it stays so.
    """
    row = the_row(db, group_id, test_id)
    if at <= row.opens_at:
        raise Conflict(say("It has not opened yet. Call it off instead."))
    if at < row.until:
        for sitting in reading.sittings(db, test_id):
            if sitting.due_at == row.until and sitting.handed_at is None:
                sitting.due_at = at
        row.until = at


def release(db: Session, group_id: int, test_id: int, *, at: datetime) -> None:
    """Let sitters see their results. Raises Conflict while the test is open or somebody is sitting it; released twice, it stays so."""
    row = the_row(db, group_id, test_id)
    if row.retired_at is not None:
        raise Conflict(say("It was called off, so there is nothing to release."))
    if at < row.until:
        raise Conflict(say("The test is still open: whoever has results would tell the others. Shut it first."))
    if running := sum(not is_over(one, row, at) for one in reading.sittings(db, test_id)):
        raise Conflict(say("Somebody is still sitting it ({running}). Wait until she is through.", running=running))
    row.released_at = row.released_at or at


def call_off(db: Session, group_id: int, test_id: int, *, at: datetime) -> None:
    """Call a test off: nobody sits it or sees results; that its pictures have been seen is kept."""
    row = the_row(db, group_id, test_id)
    row.retired_at = row.retired_at or at


def _told(db: Session, row: FieldTestRow, *, is_paid: bool, at: datetime) -> FieldTest:
    questions = the_questions(db, row, is_paid=is_paid, at=at)
    sittings = reading.sittings(db, row.id)
    learners = [one.account_id for one in leader.learners(db, row.group_id)]
    before = reading.seen_by(db, [one.picture_id for one in questions], learners, not_in=row.id)
    running = sum(not is_over(one, row, at) for one in sittings)
    return FieldTest(
        id=row.id,
        title=row.title,
        catalogue=db.get_one(CatalogueRow, row.catalogue_id).title,
        catalogue_id=row.catalogue_id,
        questions=len(questions),
        dropped=sum(one.is_dropped for one in questions),
        spent=len(before),
        minutes=row.minutes,
        opens_at=row.opens_at,
        until=row.until,
        repeats=row.repeats,
        may_pause=row.may_pause,
        state=_state(row, at),
        released_at=row.released_at,
        sat=len(sittings) - running,
        running=running,
    )


def _state(row: FieldTestRow, at: datetime) -> str:
    if row.retired_at is not None:
        return "called off"
    return "to come" if at < row.opens_at else "open" if at < row.until else "shut"
