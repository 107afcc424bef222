"""Sits a test: begins it or goes on with it, keeps what is said, pauses, hands in; each of them counts once however often it is sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.field_tests import shuffled
from drillhall.errors import BadAnswer, Conflict, NotFound
from drillhall.practice.field_tests.asked import Question, note_dropped, the_questions
from drillhall.store.models.field_tests import FieldTestRow, SittingItemRow, SittingRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.queries import field_tests as reading
from drillhall.store.queries.sets import LEARNS
from drillhall.words import say

GRACE: Final = timedelta(seconds=20)
"""What was sent in time and came late by no more than a slow connection takes is still kept."""

_NO_SITTING: Final = say("There is no such sitting, or it is not yours.")


@dataclass(frozen=True, slots=True)
class Running:
    """A sitting that somebody is in, with its test and questions; `items` are those that count, in her order, by their place."""

    row: SittingRow
    test: FieldTestRow
    group: GroupRow
    questions: Mapping[int, Question]
    items: Mapping[int, SittingItemRow]

    def question(self, place: int) -> Question:
        """Return the question in a place."""
        return self.questions[self.items[place].question_id]

    @property
    def place_now(self) -> int | None:
        """Where she is: the place seen last, unless it is answered; then, or where its picture was withdrawn, None."""
        seen = [place for place, item in self.items.items() if item.seen_at is not None]
        return seen[-1] if seen and self.items[seen[-1]].said_form_id is None else None

    @property
    def unseen(self) -> tuple[int, ...]:
        """The places not reached yet."""
        return tuple(place for place, item in self.items.items() if item.seen_at is None)


def begin_sitting(db: Session, account_id: int, test_id: int, *, sitting_id: str, at: datetime, dice: Random) -> str:
    """Begin to sit a test, or go on with a sitting that runs, and return the sitting's id; its first picture counts as seen.

    Raises NotFound where she is not in the group or the test was called off, Conflict where it is not open, was sat already and may
    not be repeated, or has no picture left.
    """
    found = reading.find_test_for(db, account_id, test_id, lock=True)
    if found is None:
        raise NotFound(say("There is no such test, or it is not for you."))
    test, group, role = found
    before = reading.sittings_of(db, account_id, [test_id])
    if before and not is_over(before[-1], test, at):
        return before[-1].id
    _refuse_shut(test, has_sat=bool(before), at=at)
    questions = the_questions(db, test, is_paid=group.is_paid, at=at, is_sat=True)
    note_dropped(db, questions, test, at=at)
    asked = shuffled([one for one in questions if not one.is_dropped], dice=dice)
    if not asked:
        raise Conflict(say("All pictures of this test have been withdrawn. Tell whoever has set it."))
    knows = reading.knows_pictures(db, account_id, test.catalogue_id, [one.picture_id for one in asked])
    row = SittingRow(
        id=sitting_id,
        field_test_id=test.id,
        account_id=account_id,
        number=len(before) + 1,
        begun_at=at,
        due_at=_due_at(test, reading.extras(db, test.id).get(account_id, 0), at),
        counts=role == LEARNS and not knows,
    )
    db.add(row)
    db.flush()
    for place, one in enumerate(asked, 1):
        db.add(SittingItemRow(sitting_id=row.id, question_id=one.id, place=place, seen_at=at if place == 1 else None))
    db.flush()
    return row.id


def answer(db: Session, account_id: int, sitting_id: str, place: int, said: str, *, at: datetime) -> int | None:
    """Keep what is said of one question, empty to leave it open, and return the next place, or None behind the last one.

    What was said before is replaced. The next picture counts as seen from now on; where the question itself is gone, or `place` is 0,
    that is the first one not seen yet. Raises NotFound for a place not reached, BadAnswer for what is neither form, Conflict while the
    clock is stopped or once it is over.
    """
    running = the_running(db, account_id, sitting_id, at=at, lock=True)
    _refuse_over(running, at=at - GRACE)
    if running.row.paused_at is not None:
        raise Conflict(say("The clock is stopped. Go on first."))
    note_dropped(db, list(running.questions.values()), running.test, at=at)
    item = running.items.get(place)
    if item is not None:
        if item.seen_at is None:
            raise NotFound(say("You have not come to that question yet."))
        _say(item, running.question(place), said, at=at)
    ahead = [number for number in running.items if number > place] if item is not None else running.unseen
    following = ahead[0] if ahead else None
    if following is not None and running.items[following].seen_at is None:
        running.items[following].seen_at = at
    return following


def pause(db: Session, account_id: int, sitting_id: str, *, at: datetime) -> None:
    """Stop the clock of a sitting; sent twice it stays stopped. Raises Conflict where the test does not allow it or is over."""
    running = the_running(db, account_id, sitting_id, at=at, lock=True)
    _refuse_over(running, at=at)
    if not may_pause(running.test, running.row):
        raise Conflict(say("The clock of this test is not stopped. What you have answered is kept, also if you leave the page."))
    running.row.paused_at = running.row.paused_at or at


def go_on(db: Session, account_id: int, sitting_id: str, *, at: datetime) -> None:
    """Let the clock run again; the time stopped is added at the end. Raises Conflict once the sitting is over."""
    running = the_running(db, account_id, sitting_id, at=at, lock=True)
    _refuse_over(running, at=at)
    if running.row.paused_at is not None:
        running.row.due_at += at - running.row.paused_at
        running.row.paused_at = None


def hand_in(db: Session, account_id: int, sitting_id: str, *, at: datetime) -> None:
    """Hand a sitting in; handed in twice, or after its time, it counts once and as it was."""
    running = the_running(db, account_id, sitting_id, at=at, lock=True)
    note_dropped(db, list(running.questions.values()), running.test, at=at)
    if not is_over(running.row, running.test, at):
        running.row.handed_at = at


def the_running(db: Session, account_id: int, sitting_id: str, *, at: datetime, lock: bool = False) -> Running:
    """Return somebody's sitting of a test that is not called off, running or over, or raise NotFound."""
    row = reading.find_sitting(db, account_id, sitting_id, lock=lock)
    found = reading.find_test_for(db, account_id, row.field_test_id) if row is not None else None
    if row is None or found is None:
        raise NotFound(_NO_SITTING)
    test, group, _ = found
    is_sat = not is_over(row, test, at)
    questions = {one.id: one for one in the_questions(db, test, is_paid=group.is_paid, at=at, is_sat=is_sat)}
    live = {item.place: item for item in reading.items(db, [row.id]) if not questions[item.question_id].is_dropped}
    return Running(row, test, group, questions, live)


def is_over(row: SittingRow, test: FieldTestRow, at: datetime) -> bool:
    """Whether a sitting is over: handed in, its time has passed, or the test shut while its clock was stopped."""
    if row.handed_at is not None:
        return True
    return at >= (test.until if row.paused_at is not None else row.due_at)


def may_pause(test: FieldTestRow, row: SittingRow) -> bool:
    """Whether the clock of a sitting may be stopped: where the test allows it, and where there is a clock."""
    return test.may_pause and row.due_at != test.until


def _due_at(test: FieldTestRow, percent: int | None, at: datetime) -> datetime:
    """Return when a sitting begun now is over; without a limit, when the test shuts."""
    if test.minutes is None or percent is None:
        return test.until
    return at + timedelta(minutes=test.minutes) * (100 + percent) / 100


def _say(item: SittingItemRow, question: Question, said: str, *, at: datetime) -> None:
    forms = {str(form_id): form_id for form_id in question.forms}
    if said and said not in forms:
        raise BadAnswer(say("Choose one of the two forms, or leave the question open."), field="said")
    item.said_form_id = forms.get(said)
    item.answered_at = at if said else None


def _refuse_shut(test: FieldTestRow, *, has_sat: bool, at: datetime) -> None:
    if at < test.opens_at:
        raise Conflict(say("{title} is not open yet.", title=test.title))
    if at >= test.until:
        raise Conflict(say("{title} is shut. Nobody begins it any more.", title=test.title))
    if has_sat and not test.repeats:
        raise Conflict(say("You have sat {title} already. It is sat once.", title=test.title))


def _refuse_over(running: Running, *, at: datetime) -> None:
    if running.row.handed_at is not None:
        raise Conflict(say("This sitting has been handed in. It counts as it was then."))
    if is_over(running.row, running.test, at):
        raise Conflict(say("The time of this sitting is over. What you had answered by then counts; this came too late."))
