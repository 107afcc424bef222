"""How many questions a test needs is said from tests before it: the group's own, else another's on the same pairs, else not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from sqlalchemy import update

from drillhall.core.field_tests import questions_needed
from drillhall.practice.field_tests.lengths import KnownReliability, find_known
from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.session import Session, Store
from tests.practice.field_tests.classroom import UNTIL, Classroom, a_test, make_classroom, rightly, sit, wrongly
from tests.practice.small_hall import NOON


def known_to(db: Session, room: Classroom, pair_ids: Sequence[int], *, at: datetime = UNTIL) -> KnownReliability | None:
    return find_known(db, room.group.id, pair_ids, kind="class", is_paid=False, at=at)


def a_sat_test(db: Session, room: Classroom, sitters: int, **more: object) -> int:
    """Let so many sit a test, every other one rightly."""
    test_id = a_test(db, room, **more)
    for number, account_id in enumerate(room.pupils[:sitters]):
        sit(db, account_id, test_id, wrongly if number % 2 else rightly)
    return test_id


def another(db: Session, room: Classroom) -> Classroom:
    """Make a second class in the same hall, with nobody in it."""
    row = GroupRow(public_id="another", title="Form Seven", kind="class", is_paid=False, made_at=NOON)
    db.add(row)
    db.flush()
    return Classroom(room.hall, replace(room.group, id=row.id, public_id=row.public_id), ())


def test_before_the_first_test_another_groups_on_the_same_pairs_is_told_without_its_name(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db, pupils=6)
        second = another(db, room)
        asked = room.hall.pairs[:2]
        assert known_to(db, second, asked) is None
        a_sat_test(db, room, 6)
        known = known_to(db, second, asked)
        own = known_to(db, room, asked)
        assert known_to(db, second, asked, at=UNTIL - timedelta(seconds=1)) is None, "it is open still"
    assert known is not None
    # Half have all right, half none: the questions go together as one, and KR-20 is 4/3 * (1 - 4 * .25 / 4) = 1.
    assert (known.title, known.questions, known.sitters, known.kr20) == ("", 4, 6, pytest.approx(1.0))
    assert known.needed[80] == questions_needed(1.0, 4, 0.8)
    assert own is not None
    assert own.title == "Autumn test"


@pytest.mark.parametrize("why", ["four sat it", "it asks of other pairs too", "it asks of other pairs alone", "it was called off"])
def test_what_says_nothing_of_these_pairs_or_too_much_of_few_is_not_told(sqlite_store: Store, why: str) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=6)
        test_id = a_sat_test(db, room, 4 if why == "four sat it" else 6, pairs=2, per_form=1)
        asked = {"it asks of other pairs too": room.hall.pairs[:1], "it asks of other pairs alone": room.hall.pairs[2:]}
        if why == "it was called off":
            db.execute(update(FieldTestRow).where(FieldTestRow.id == test_id).values(retired_at=UNTIL))
        assert known_to(db, another(db, room), asked.get(why, room.hall.pairs)) is None


def test_of_another_club_no_more_is_told_than_the_club_itself_is_told(sqlite_store: Store) -> None:
    """Of those who have not agreed a sum falls once one of them has left; a class of the other five would be told of."""
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=6, kind="club")
        a_sat_test(db, room, 6)
        asked, second = room.hall.pairs[:2], another(db, room)
        whole = known_to(db, second, asked)
        db.execute(update(MembershipRow).where(MembershipRow.account_id == room.pupils[5]).values(until=UNTIL))
        left = known_to(db, second, asked)
        db.execute(update(GroupRow).where(GroupRow.id == room.group.id).values(kind="class"))
        of_class = known_to(db, second, asked)
    assert (whole and whole.sitters, left, of_class and of_class.sitters) == (6, None, 5)
