"""Sitting a test: going on after a break, sending twice, coming late, from two devices, and what is withdrawn midway."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select, update

from drillhall.errors import BadAnswer, Conflict, NotFound
from drillhall.practice.field_tests import keeping, pages, sitting
from drillhall.store.models.catalogue import StewardRow
from drillhall.store.models.field_tests import FieldTestQuestionRow, SittingItemRow, SittingRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests.practice.field_tests.classroom import UNTIL, a_test, begun, make_classroom, rightly, sit, wanted
from tests.practice.small_hall import NOON


def later(**span: float) -> object:
    return NOON + timedelta(**span)


def test_each_sitter_has_all_questions_in_an_order_of_her_own(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db, pupils=5)
        test_id = a_test(db, room)
        orders = []
        for number, account_id in enumerate(room.pupils):
            running = sitting.the_running(db, account_id, begun(db, account_id, test_id, seed=number), at=NOON)
            orders.append(tuple(item.question_id for item in running.items.values()))
    assert len({frozenset(order) for order in orders}) == 1
    assert len(set(orders)) > 1


def test_a_lost_connection_or_a_second_device_goes_on_with_the_same_sitting(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db)
        test_id, pupil = a_test(db, room), room.pupils[0]
        first = begun(db, pupil, test_id, sitting_id="phone")
        sitting.answer(db, pupil, first, 1, "", at=NOON)
        again = begun(db, pupil, test_id, sitting_id="laptop", at=NOON + timedelta(minutes=4))
        assert again == first
        assert db.scalars(select(SittingRow.id)).all() == ["phone"]
        state = pages.the_state(db, pupil, again, at=NOON + timedelta(minutes=4))
        assert (state.place_now, state.minutes_left) == (2, 26)


def test_what_is_sent_twice_or_changed_counts_once(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db)
        pupil, sitting_id = room.pupils[0], begun(db, room.pupils[0], a_test(db, room))
        first, second = sitting.the_running(db, pupil, sitting_id, at=NOON).question(1).forms
        for said in (first, first, second):
            assert sitting.answer(db, pupil, sitting_id, 1, str(said), at=NOON) == 2
        items = db.scalars(select(SittingItemRow).order_by(SittingItemRow.place)).all()
        assert [item.said_form_id for item in items] == [second, None, None, None]
        assert [item.seen_at is not None for item in items] == [True, True, False, False]
        for minutes in (1, 2):
            sitting.hand_in(db, pupil, sitting_id, at=NOON + timedelta(minutes=minutes))
        assert db.get_one(SittingRow, sitting_id).handed_at == NOON + timedelta(minutes=1)
        with pytest.raises(Conflict, match="handed in"):
            sitting.answer(db, pupil, sitting_id, 1, str(first), at=NOON + timedelta(minutes=3))


def test_what_comes_late_is_refused_and_what_came_in_time_counts(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        pupil, sitting_id = room.pupils[0], begun(db, room.pupils[0], a_test(db, room, minutes=10))
        form = str(sitting.the_running(db, pupil, sitting_id, at=NOON).question(1).key)
        slow = NOON + timedelta(minutes=10, seconds=15)
        assert sitting.answer(db, pupil, sitting_id, 1, form, at=slow) == 2
        late = NOON + timedelta(minutes=11)
        with pytest.raises(Conflict, match="came too late"):
            sitting.answer(db, pupil, sitting_id, 2, form, at=late)
        sitting.hand_in(db, pupil, sitting_id, at=late)
        state = pages.the_state(db, pupil, sitting_id, at=late)
    assert (state.answered, state.is_over, state.is_handed) == (1, True, False)


@pytest.mark.parametrize(("percent", "minutes"), [(0, 30), (50, 45), (900, 300), (None, 120)])
def test_more_time_for_one(sqlite_store: Store, percent: int | None, minutes: int) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        extras = {} if percent == 0 else {room.pupils[0]: percent}
        test_id = a_test(db, room, extras=extras)
        due = [db.get_one(SittingRow, begun(db, account_id, test_id)).due_at for account_id in room.pupils]
        told = pages.the_test_for_her(db, room.pupils[0], test_id, at=NOON)
    assert due == [NOON + timedelta(minutes=minutes), NOON + timedelta(minutes=30)]
    assert told.minutes == (None if percent is None else minutes)


def test_a_stopped_clock_hides_the_picture_and_gives_the_time_back(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        pupil, sitting_id = room.pupils[0], begun(db, room.pupils[0], a_test(db, room, may_pause=True))
        for _ in range(2):
            sitting.pause(db, pupil, sitting_id, at=NOON + timedelta(minutes=5))
        during = NOON + timedelta(minutes=60)
        assert pages.the_question(db, pupil, sitting_id, 1, at=during) is None
        assert pages.the_state(db, pupil, sitting_id, at=during).minutes_left == 25
        with pytest.raises(Conflict, match="stopped"):
            sitting.answer(db, pupil, sitting_id, 1, "", at=during)
        sitting.go_on(db, pupil, sitting_id, at=during)
        assert pages.the_state(db, pupil, sitting_id, at=during).minutes_left == 25
        assert pages.the_question(db, pupil, sitting_id, 1, at=during) is not None
        sitting.pause(db, pupil, sitting_id, at=during)
        assert pages.the_state(db, pupil, sitting_id, at=UNTIL).is_over  # the test shuts all the same


def test_without_leave_or_without_a_clock_there_is_no_pause(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        for test_id in (a_test(db, room), a_test(db, room, minutes=None, may_pause=True)):
            sitting_id = begun(db, room.pupils[0], test_id)
            with pytest.raises(Conflict, match="is not stopped"):
                sitting.pause(db, room.pupils[0], sitting_id, at=NOON)


def test_a_picture_withdrawn_midway_drops_its_question_for_all(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room)
        early, late = room.pupils
        sitting_id = sit(db, early, test_id, rightly)
        gone = sitting.the_running(db, early, sitting_id, at=NOON).question(3).picture_id
        db.execute(update(PictureRow).where(PictureRow.id == gone).values(retired_at=NOON + timedelta(minutes=1)))
        at = NOON + timedelta(minutes=2)
        hers = begun(db, late, test_id, at=at)
        assert len(sitting.the_running(db, late, hers, at=at).items) == 3
        assert pages.the_state(db, early, sitting_id, at=at).dropped == 1
        assert keeping.the_test(db, room.group.id, test_id, is_paid=False, at=UNTIL).dropped == 1
        assert db.scalars(select(FieldTestQuestionRow.picture_id).where(FieldTestQuestionRow.dropped_at.is_not(None))).all() == [gone]


def test_it_stays_dropped_though_nobody_sat_it_afterwards(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room)
        sit(db, room.pupils[0], test_id, rightly)
        gone = select(FieldTestQuestionRow.picture_id).where(FieldTestQuestionRow.place == 1)
        db.execute(update(PictureRow).where(PictureRow.id.in_(gone)).values(retired_at=NOON + timedelta(minutes=1)))
        assert keeping.the_test(db, room.group.id, test_id, is_paid=False, at=UNTIL + timedelta(days=1)).dropped == 1


def test_the_picture_before_her_is_withdrawn_and_she_goes_on(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        pupil, sitting_id = room.pupils[0], begun(db, room.pupils[0], a_test(db, room))
        picture_id = sitting.the_running(db, pupil, sitting_id, at=NOON).question(1).picture_id
        db.execute(update(PictureRow).where(PictureRow.id == picture_id).values(use="practice"))
        assert pages.the_question(db, pupil, sitting_id, 1, at=NOON) is None
        state = pages.the_state(db, pupil, sitting_id, at=NOON)
        assert (state.place_now, state.has_unseen, state.questions) == (None, True, 3)
        assert sitting.answer(db, pupil, sitting_id, 1, "", at=NOON) == 2
        assert sitting.answer(db, pupil, sitting_id, 0, "", at=NOON) == 3
        assert sitting.the_running(db, pupil, sitting_id, at=NOON).place_now == 3


def test_what_happens_to_a_picture_after_the_test_changes_no_result(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room)
        sit(db, room.pupils[0], test_id, rightly)
        after = UNTIL + timedelta(days=1)
        db.execute(update(PictureRow).where(PictureRow.use == "held-out").values(retired_at=after, use="practice"))
        assert keeping.the_test(db, room.group.id, test_id, is_paid=False, at=after + timedelta(days=1)).dropped == 0


def test_sat_once_unless_it_may_be_repeated(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        once, often = a_test(db, room), a_test(db, room, repeats=True)
        sit(db, room.pupils[0], once, rightly)
        with pytest.raises(Conflict, match="sat once"):
            begun(db, room.pupils[0], once, sitting_id="again")
        for number in range(2):
            sit(db, room.pupils[0], often, rightly, at=NOON + timedelta(minutes=number))
        assert [row.number for row in db.scalars(select(SittingRow).where(SittingRow.field_test_id == often))] == [1, 2]


def test_not_before_it_opens_nor_after_it_shuts_nor_without_pictures(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room, opens_at=NOON + timedelta(minutes=1))
        with pytest.raises(Conflict, match="not open yet"):
            begun(db, room.pupils[0], test_id)
        with pytest.raises(Conflict, match="shut"):
            begun(db, room.pupils[0], test_id, at=UNTIL)
        db.execute(update(PictureRow).values(retired_at=NOON))
        with pytest.raises(Conflict, match="All pictures"):
            begun(db, room.pupils[0], test_id, at=NOON + timedelta(minutes=2))


def test_whoever_may_know_the_pictures_sits_it_without_being_counted(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=3)
        plain, steward, owner = room.pupils
        db.add(StewardRow(catalogue_id=room.hall.catalogue, account_id=steward))
        db.execute(update(PictureRow).where(PictureRow.use == "held-out").values(owner_id=owner))
        test_id = a_test(db, room)
        counts = {one: db.get_one(SittingRow, begun(db, one, test_id)).counts for one in (*room.pupils, room.hall.stranger)}
    assert counts == {plain: True, steward: False, owner: False, room.hall.stranger: False}


@pytest.mark.parametrize(
    ("role", "left", "counts"), [("teacher", None, False), ("teacher", 2, False), ("teacher", 0, True), ("member", None, True)]
)
def test_whoever_led_where_a_picture_was_asked_is_not_counted_elsewhere(store: Store, role: str, left: int | None, counts: bool) -> None:
    with store.work() as db:
        room = make_classroom(db, pupils=1)
        another = GroupRow(public_id="another", title="Another", kind="class", is_paid=False, made_at=NOON)
        db.add(another)
        db.flush()
        until = None if left is None else NOON + timedelta(minutes=left)
        db.add(MembershipRow(group_id=another.id, account_id=room.pupils[0], role=role, since=NOON, until=until))
        db.flush()
        elsewhere = replace(room, group=replace(room.group, id=another.id))
        a_test(db, elsewhere, at=NOON + timedelta(minutes=1))
        test_id = a_test(db, room, at=NOON + timedelta(minutes=3))
        sitting_id = begun(db, room.pupils[0], test_id, at=NOON + timedelta(minutes=3))
        assert db.get_one(SittingRow, sitting_id).counts is counts


def test_odd_answers_are_refused(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        pupil, sitting_id = room.pupils[0], begun(db, room.pupils[0], a_test(db, room))
        for said in ("0", "nonsense", str(room.hall.forms[3])):
            with pytest.raises(BadAnswer):
                sitting.answer(db, pupil, sitting_id, 1, said, at=NOON)
        with pytest.raises(NotFound, match="not come to"):
            sitting.answer(db, pupil, sitting_id, 3, "", at=NOON)
        assert pages.the_question(db, pupil, sitting_id, 3, at=NOON) is None
        with pytest.raises(NotFound):
            pages.the_picture_shown(db, pupil, sitting_id, 1, 961, at=NOON)
        with pytest.raises(NotFound):
            pages.the_picture_shown(db, pupil, sitting_id, 2, 960, at=NOON)
        assert pages.the_picture_shown(db, pupil, sitting_id, 1, 960, at=NOON)[1].width_px == 960


def test_a_sitting_is_its_sitters_alone_and_ends_with_her_membership_or_the_test(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        one, other = room.pupils
        test_id = a_test(db, room)
        sitting_id = begun(db, one, test_id)
        outsider = 10_000
        with pytest.raises(NotFound):
            pages.the_state(db, other, sitting_id, at=NOON)
        with pytest.raises(NotFound):
            begun(db, outsider, test_id)
        assert len(pages.list_for_her(db, one, at=NOON)) == 1
        db.execute(update(MembershipRow).where(MembershipRow.account_id == one).values(until=NOON))
        assert pages.list_for_her(db, one, at=NOON) == ()
        for act in (sitting.hand_in, sitting.pause, sitting.go_on):
            with pytest.raises(NotFound):
                act(db, one, sitting_id, at=NOON)
        hers = begun(db, other, test_id)
        keeping.call_off(db, room.group.id, test_id, at=NOON)
        with pytest.raises(NotFound):
            sitting.answer(db, other, hers, 1, "", at=NOON)
        assert pages.list_for_her(db, other, at=NOON) == ()


def test_the_page_of_a_question_holds_no_key(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        sitting_id = begun(db, room.pupils[0], a_test(db, room))
        asked = pages.the_question(db, room.pupils[0], sitting_id, 1, at=NOON)
    assert asked is not None
    assert not hasattr(asked, "key")
    assert (asked.said, asked.number, asked.before, asked.sitting.questions) == (0, 1, None, 4)
    assert {asked.pair.first.id, asked.pair.second.id} == set(room.hall.forms[:2])
    assert wanted(room.hall).title == asked.sitting.title
