"""What a test came to: whose sitting counts, who may be told of, item analysis, two sittings compared; a class of one, and nobody."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random

import pytest
from sqlalchemy import select, update

from drillhall.core.field_tests import Doubt
from drillhall.practice.field_tests import keeping
from drillhall.practice.field_tests.comparing import compared
from drillhall.practice.field_tests.results import ClassResults, QuestionTold, class_results, own_results, questions_told
from drillhall.practice.field_tests.tabulating import questions_table
from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.field_tests import FieldTestQuestionRow, FieldTestRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Session, Store
from drillhall.words.said import all_told
from tests.practice.field_tests.classroom import (
    UNTIL,
    Classroom,
    a_test,
    always_first,
    begun,
    make_classroom,
    nothing,
    rightly,
    sit,
    wrongly,
)
from tests.practice.small_hall import NOON


def results(db: Session, room: Classroom, test_id: int, *, at: datetime = UNTIL) -> ClassResults:
    row = db.get_one(FieldTestRow, test_id)
    return class_results(db, row, kind=room.group.kind, is_paid=False, at=at)


def questions(db: Session, room: Classroom, test_id: int) -> tuple[QuestionTold, ...]:
    found = results(db, room, test_id).marked
    return questions_told(db, db.get_one(FieldTestRow, test_id), found, with_pictures=False, at=UNTIL)


def test_each_sitter_against_guessing_and_the_class_by_pair(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db, pupils=3)
        test_id = a_test(db, room, pairs=3, per_form=1)
        for account_id, says in zip(room.pupils, (rightly, always_first, wrongly), strict=True):
            sit(db, account_id, test_id, says)
        told = results(db, room, test_id)
    assert [(one.name, one.score, one.answered) for one in told.named] == [("Ottilie", 6, 6), ("Pupil 1", 3, 6), ("Pupil 2", 0, 6)]
    assert told.named[0].by_guessing == 1 / 64
    assert told.beyond_guessing == 1
    assert [(one.right, one.shown) for one in told.pairs] == [(3, 6)] * 3
    assert [(one.first.right, one.second.right) for one in told.pairs] == [(2, 1)] * 3
    assert told.pairs[0].likely.low < 0.5 < told.pairs[0].likely.high
    assert told.pairs[0].apart is None  # fewer than ten answers a form
    assert told.reliability is not None
    # Totals 6, 3, 0: variance 6. Three questions at 2/3 and three at 1/3: sum pq 4/3. 6/5 × (1 − 4/18).
    assert told.reliability.kr20 == pytest.approx(6 / 5 * (1 - 4 / 18))
    assert told.needed[90] is not None


def test_nobody_answered(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room)
        sit(db, room.pupils[0], test_id, nothing)
        begun(db, room.pupils[1], test_id, at=UNTIL - timedelta(minutes=1))
        told = results(db, room, test_id)
        lines = questions(db, room, test_id)
    assert (told.named, told.marked.blank, told.marked.unfinished, told.reliability, told.needed) == ((), 1, 1, None, {})
    assert [(one.right, one.shown) for one in told.pairs] == [(0, 0)]
    assert [line.item for line in lines] == [None] * 4


def test_a_class_of_one(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=1)
        test_id = a_test(db, room)
        sit(db, room.pupils[0], test_id, always_first)
        told = results(db, room, test_id)
        lines = questions(db, room, test_id)
    assert told.reliability is not None
    assert (told.reliability.kr20, told.needed, told.beyond_guessing) == (None, {}, 0)
    assert sorted(line.item.facility for line in lines if line.item) == [0, 0, 1, 1]
    assert {line.doubt for line in lines} == {None}


def test_a_wrongly_named_picture_is_put_in_doubt(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=8)
        test_id = a_test(db, room)
        wrong = db.scalars(select(FieldTestQuestionRow).where(FieldTestQuestionRow.place == 2)).one()
        for account_id in room.pupils:
            sit(db, account_id, test_id, lambda one: wrongly(one) if one.id == wrong.id else rightly(one))
        lines = questions(db, room, test_id)
        assert [line.doubt for line in lines] == [None, Doubt.BELOW_GUESSING, None, None]
        told = [all_told(row, "de")[-2] for row in questions_table("Test", results(db, room, test_id), lines, NOON.date()).rows]
        assert told == [None, "weniger richtig, als Raten ergibt", None, None]
        # Once its label is corrected, all had it right.
        picture = db.get_one(PictureRow, wrong.picture_id)
        picture.form_id = room.hall.forms[0] if picture.form_id == room.hall.forms[1] else room.hall.forms[1]
        assert {line.item.right for line in questions(db, room, test_id) if line.item} == {8}
        # And if it turns out to show neither, it counts for nobody.
        picture.form_id = room.hall.forms[3]
        lines = questions(db, room, test_id)
        assert [(line.is_dropped, line.form is None) for line in lines] == [(False, False), (True, True), (False, False), (False, False)]
        assert {one.score for one in results(db, room, test_id).named} == {3}


def test_twenty_sitters_have_upper_and_lower_groups(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=20)
        test_id = a_test(db, room)
        for number, account_id in enumerate(room.pupils):
            sit(db, account_id, test_id, rightly if number < 10 else wrongly)
        lines, told = questions(db, room, test_id), results(db, room, test_id)
    assert [line.item.discrimination for line in lines if line.item] == [pytest.approx(1.0)] * 4
    assert told.pairs[0].apart is not None
    assert told.pairs[0].apart.d_prime == pytest.approx(0.0)


def test_a_club_names_those_who_agreed_and_the_others_from_five_on(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=6, kind="club")
        db.execute(update(MembershipRow).where(MembershipRow.account_id == room.pupils[0]).values(lets_leader_see=True))
        test_id = a_test(db, room)
        for account_id in room.pupils[:5]:
            sit(db, account_id, test_id, wrongly)
        few = results(db, room, test_id)
        sit(db, room.pupils[5], test_id, wrongly)
        enough = results(db, room, test_id)
    assert ([one.name for one in few.named], few.others, few.marked.untold, few.pairs[0].shown) == (["Ottilie"], 0, 4, 4)
    assert ([one.name for one in enough.named], enough.others, enough.marked.untold, enough.pairs[0].shown) == (["Ottilie"], 5, 0, 24)


def test_a_sum_of_those_not_named_is_told_once_it_cannot_change_and_falls_when_one_leaves(sqlite_store: Store) -> None:
    """Seen before and after the sixth has sat, or before and after she has left, it would be hers."""
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=6, kind="club")
        test_id = a_test(db, room)
        for account_id in room.pupils:
            sit(db, account_id, test_id, wrongly)
        open_still, shut = (results(db, room, test_id, at=at).marked for at in (UNTIL - timedelta(seconds=1), UNTIL))
        db.execute(update(MembershipRow).where(MembershipRow.account_id == room.pupils[5]).values(until=UNTIL))
        left = results(db, room, test_id).marked
        db.add(MembershipRow(group_id=room.group.id, account_id=room.pupils[5], role="member", since=UNTIL))
        back = results(db, room, test_id).marked
    assert [(len(one.sitters), one.untold) for one in (open_still, shut, left, back)] == [(0, 6), (6, 0), (0, 5), (0, 5)]


def test_those_not_named_are_compared_where_five_are_and_none_or_five_are_not(sqlite_store: Store) -> None:
    """Four, or five of six, would be told of few: the sum of all six stands beside it."""
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=7, kind="club")
        db.execute(update(MembershipRow).where(MembershipRow.account_id == room.pupils[0]).values(lets_leader_see=True))
        test_id = a_test(db, room, repeats=True)
        for account_id in room.pupils:
            sit(db, account_id, test_id, wrongly)
        row, counts = db.get_one(FieldTestRow, test_id), []
        for account_id in room.pupils:
            sit(db, account_id, test_id, rightly, at=NOON + timedelta(minutes=5))
            counts.append(compared(db, row, row, kind="club", is_paid=False, at=UNTIL).learners)
    assert counts == [1, 1, 1, 1, 1, 1, 7]


def test_whose_sitting_does_not_count(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=4)
        test_id = a_test(db, room)
        left, joined_again, steward = room.pupils[1:]
        db.add(StewardRow(catalogue_id=room.hall.catalogue, account_id=steward))
        for account_id in (*room.pupils, room.hall.stranger):
            sit(db, account_id, test_id, rightly)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == left).values(until=NOON))
        db.execute(update(MembershipRow).where(MembershipRow.account_id == joined_again).values(since=NOON + timedelta(hours=1)))
        told = results(db, room, test_id)
    assert [one.name for one in told.named] == ["Ottilie"]
    assert told.marked.uncounted == 2


def test_a_test_sat_twice_is_compared_question_by_question(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=7)
        test_id = a_test(db, room, repeats=True)
        for account_id in room.pupils:
            sit(db, account_id, test_id, always_first)
        for account_id in room.pupils[:6]:
            sit(db, account_id, test_id, rightly, at=NOON + timedelta(minutes=5))
        row = db.get_one(FieldTestRow, test_id)
        told = compared(db, row, row, kind="class", is_paid=False, at=UNTIL)
        first_alone = results(db, room, test_id)
    assert told.learners == 6
    assert told.difference is not None
    assert (told.difference.mean, told.difference.low, told.difference.high) == (0.5, 0.5, 0.5)
    assert sorted((one.changed.gained, one.changed.lost) for one in told.questions) == [(0, 0), (0, 0), (6, 0), (6, 0)]
    assert max(one.changed.chance for one in told.questions if one.changed.gained) == 2 / 2**6
    assert (told.agreement.same, told.agreement.both) == (12, 24)
    assert [one.score for one in first_alone.named] == [2] * 7


def test_two_tests_with_other_pictures_compare_the_class_alone(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        early = a_test(db, room, per_form=1)
        for account_id in room.pupils:
            sit(db, account_id, early, wrongly)
        late = a_test(db, room, per_form=1)
        sit(db, room.pupils[0], late, rightly)
        rows = [db.get_one(FieldTestRow, one) for one in (early, late)]
        told = compared(db, *rows, kind="class", is_paid=False, at=UNTIL)
        nobody = compared(db, rows[1], rows[1], kind="class", is_paid=False, at=UNTIL)
    assert (told.learners, told.questions, told.agreement.both) == (1, (), 0)
    assert told.difference is not None
    assert (told.difference.mean, told.difference.low) == (1.0, None)
    assert (nobody.learners, nobody.difference) == (0, None)


def test_her_own_results_once_they_are_released(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room)
        for account_id in (room.pupils[0], room.hall.stranger):
            sit(db, account_id, test_id, always_first)
        assert own_results(db, room.pupils[0], test_id, at=UNTIL) == ()
        keeping.release(db, room.group.id, test_id, at=UNTIL)
        (told,) = own_results(db, room.pupils[0], test_id, at=UNTIL)
        assert own_results(db, room.pupils[1], test_id, at=UNTIL) == ()
        assert len(own_results(db, room.hall.stranger, test_id, at=UNTIL)) == 1  # not counted, and told to herself all the same
        assert own_results(db, 10_000, test_id, at=UNTIL) == ()
    assert (told.right, told.asked, told.answered) == (2, 4, 4)
    assert told.by_guessing == 11 / 16
    assert [(shown.name, said.name, times) for shown, said, times in told.mixed] == [("Greater mudpiper", "Lesser mudpiper", 2)]


def test_guessers_are_told_as_such(sqlite_store: Store) -> None:
    """Of twenty who throw a coin at six questions, each has them all in one case of sixty-four; none is hidden, none is praised."""
    dice = Random(4)
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=20)
        test_id = a_test(db, room, pairs=3, per_form=1)
        for account_id in room.pupils:
            sit(db, account_id, test_id, lambda one: dice.choice(one.forms))
        told = results(db, room, test_id)
    assert told.beyond_guessing <= 2
    assert told.reliability is not None
    assert abs(told.reliability.kr20 or 0) < 0.5
