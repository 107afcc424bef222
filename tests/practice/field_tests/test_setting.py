"""Setting a test: what there is to ask, what is chosen, and what is refused."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest
from sqlalchemy import func, select, update

from drillhall.core.values import Form, Pair
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.practice.field_tests import keeping
from drillhall.practice.field_tests.asked import the_questions
from drillhall.practice.field_tests.setting import Offer, PairOnOffer, PairWanted, Stocked, the_offer
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.field_tests import FieldTestExtraRow, FieldTestQuestionRow, FieldTestRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.session import Store
from tests.practice.field_tests.classroom import UNTIL, a_test, begun, make_classroom, rightly, sit
from tests.practice.small_hall import NOON


def test_a_test_asks_equal_numbers_of_held_out_pictures_alone(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db)
        test = db.get_one(FieldTestRow, a_test(db, room, pairs=2, per_form=1))
        questions = the_questions(db, test, is_paid=False, at=NOON)
        uses = set(db.scalars(select(PictureRow.use).where(PictureRow.id.in_([one.picture_id for one in questions]))))
    assert uses == {"held-out"}
    shown = Counter((one.pair_id, one.key) for one in questions)
    assert set(shown.values()) == {1}
    assert len(shown) == 4
    assert len({one.picture_id for one in questions}) == 4


def test_an_offer_tells_what_there_is_and_what_nobody_in_the_class_has_seen(store: Store) -> None:
    with store.work() as db:
        room = make_classroom(db)
        before = the_offer(db, room.group.id, room.hall.pair_set, is_paid=False, on=NOON.date()).pairs[0]
        begun(db, room.pupils[0], a_test(db, room))
        after = the_offer(db, room.group.id, room.hall.pair_set, is_paid=False, on=NOON.date())
    assert (before.first.pictures, before.first.unseen, before.second.unseen) == (2, 2, 2)
    assert sum((after.pairs[0].first.unseen, after.pairs[0].second.unseen)) == 3  # the first picture was put before her, no other
    assert [name for _, name in after.learners] == ["Ottilie", "Pupil 1"]


def test_a_test_that_asks_spent_pictures_again_says_how_many(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        first = a_test(db, room)
        sit(db, room.pupils[0], first, rightly)
        second = a_test(db, room, title="Again")
        told = {one: keeping.the_test(db, room.group.id, one, is_paid=False, at=NOON) for one in (first, second)}
    assert (told[first].spent, told[second].spent) == (0, 4)
    assert [told[one].sat for one in (first, second)] == [1, 0]


def test_pictures_of_one_scene_are_never_asked_together(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        held_out = PictureRow.use == "held-out"
        db.execute(
            update(PictureRow).where(held_out, PictureRow.form_id == room.hall.forms[0]).values(taken_on=date(2030, 9, 1), fingerprint=7)
        )
        with pytest.raises(Invalid, match=r"of Lesser mudpiper \(with Greater mudpiper\) 1 of 2\. Ask for fewer") as refused:
            a_test(db, room)
        assert refused.value.field == "per_form"
        assert db.scalar(select(func.count(FieldTestRow.id))) == 0
        a_test(db, room, per_form=1)


@pytest.mark.parametrize(
    ("change", "is_paid"),
    [
        (update(PictureRow).values(retired_at=NOON), False),
        (update(PictureRow).values(use="practice"), False),
        (update(RightsRow).values(may_group=False), False),
        (update(RightsRow).values(may_until=date(2031, 3, 2)), False),
        (update(CataloguePictureRow).values(retired_at=NOON), False),
        (update(RightsRow).values(may_paid=False), True),
    ],
)
def test_what_may_not_be_shown_to_the_class_is_not_asked(sqlite_store: Store, change: object, is_paid: bool) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, is_paid=is_paid)
        db.execute(change)  # type: ignore[call-overload]
        with pytest.raises(Invalid, match="too few held-out pictures"):
            a_test(db, room, per_form=1)


def test_field_odds_and_more_time_are_kept(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        rare = room.hall.forms[0]
        odds = (PairWanted(room.hall.pairs[0], rare_form_id=rare, one_in=3),)
        extras = {room.pupils[0]: 50, room.pupils[1]: None, room.hall.stranger: 25}
        test = db.get_one(FieldTestRow, a_test(db, room, asked=odds, extras=extras, seed=3))
        shown = Counter(one.key for one in the_questions(db, test, is_paid=False, at=NOON))
        extra = {row.account_id: row.percent for row in db.scalars(select(FieldTestExtraRow))}
    assert shown[rare] == 2
    assert extra == {room.pupils[0]: 50, room.pupils[1]: None}  # whoever leads sits no test that counts


@pytest.mark.parametrize(
    ("field", "more"),
    [
        ("title", {"title": "  "}),
        ("title", {"title": "x" * 121}),
        ("pair", {"pairs": 0}),
        ("per_form", {"per_form": 0}),
        ("per_form", {"per_form": 21}),
        ("minutes", {"minutes": 0}),
        ("minutes", {"minutes": 601}),
        ("until", {"until": NOON}),
        ("until", {"opens_at": NOON - timedelta(days=3), "until": NOON - timedelta(days=1)}),
        ("until", {"until": NOON + timedelta(days=100)}),
        ("opens_at", {"opens_at": NOON + timedelta(days=400), "until": NOON + timedelta(days=401)}),
        ("extra-1", {"extras": {1: 33}}),
    ],
)
def test_odd_wishes_are_refused_by_name_and_nothing_is_written(sqlite_store: Store, field: str, more: dict[str, object]) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
    with pytest.raises(Invalid) as refused, sqlite_store.work() as db:
        a_test(db, room, **more)
    assert refused.value.field == field
    with sqlite_store.look() as db:
        assert not db.scalars(select(FieldTestRow)).all()
        assert not db.scalars(select(FieldTestQuestionRow)).all()


@pytest.mark.parametrize("more", [{"set_id": 99}, {"asked": (PairWanted(99),)}])
def test_a_set_or_a_pair_that_is_not_there(sqlite_store: Store, more: dict[str, object]) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        with pytest.raises(NotFound):
            a_test(db, room, **more)


@pytest.mark.parametrize(("rare", "one_in"), [(3, 5), (1, 7)])
def test_odds_that_are_not_on_the_list_are_refused(sqlite_store: Store, rare: int, one_in: int) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        with pytest.raises(Invalid) as refused:
            a_test(db, room, asked=(PairWanted(room.hall.pairs[0], room.hall.forms[rare - 1], one_in),))
    assert refused.value.field == f"odds-{room.hall.pairs[0]}"


def test_a_test_is_shut_then_released_and_not_the_other_way_round(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        test_id, later = a_test(db, room), a_test(db, room, opens_at=NOON + timedelta(hours=1))
        with pytest.raises(Conflict, match="still open"):
            keeping.release(db, room.group.id, test_id, at=NOON)
        with pytest.raises(Conflict, match="not opened"):
            keeping.shut(db, room.group.id, later, at=NOON)
        at = NOON + timedelta(minutes=5)
        begun(db, room.pupils[0], test_id)
        keeping.shut(db, room.group.id, test_id, at=at)
        with pytest.raises(Conflict, match="still sitting"):
            keeping.release(db, room.group.id, test_id, at=at)
        keeping.release(db, room.group.id, test_id, at=UNTIL)
        assert keeping.the_test(db, room.group.id, test_id, is_paid=False, at=UNTIL).released_at == UNTIL
        keeping.call_off(db, room.group.id, later, at=at)
        with pytest.raises(Conflict, match="called off"):
            keeping.release(db, room.group.id, later, at=UNTIL)
        assert [one.state for one in keeping.list_tests(db, room.group.id, at=at)] == ["called off", "shut"]


def test_another_groups_test_is_not_there(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        test_id = a_test(db, room)
        acts = (
            lambda: keeping.the_test(db, room.group.id + 1, test_id, is_paid=False, at=NOON),
            lambda: keeping.shut(db, room.group.id + 1, test_id, at=NOON),
            lambda: keeping.release(db, room.group.id + 1, test_id, at=NOON),
            lambda: keeping.call_off(db, room.group.id + 1, test_id, at=NOON),
        )
        for act in acts:
            with pytest.raises(NotFound):
                act()


@pytest.mark.parametrize(
    ("held", "proposed", "most"),
    [([(9, 4), (8, 3), (0, 9)], [0], 4), ([(9, 3), (2, 1), (0, 9)], [0, 1], 1), ([(0, 0)], [], 1), ([(20, 20), (4, 4)], [0, 1], 4)],
)
def test_pairs_with_enough_pictures_are_proposed_and_others_beside_them_are_not(
    held: list[tuple[int, int]], proposed: list[int], most: int
) -> None:
    forms = iter(Form(number, "A fiddler", "") for number in range(9))
    sides = [[Stocked(next(forms), count, count) for count in counts] for counts in held]
    pairs = tuple(PairOnOffer(Pair(number, one.form, two.form), one, two) for number, (one, two) in enumerate(sides))
    offer = Offer(1, "The fiddlers", pairs, learners=(), extras={})
    assert ([one.pair.id for one in offer.proposed], offer.most_in_all) == (proposed, most)


def test_pairs_that_share_a_form_share_its_pictures(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db)
        offer = the_offer(db, room.group.id, room.hall.pair_set, is_paid=False, on=NOON.date())
        assert offer.most_in_all == 1  # two pictures of each form, the first and the second form in two pairs each
        a_test(db, room, pairs=3, per_form=1)
        with pytest.raises(Invalid, match="too few"):
            a_test(db, room, pairs=3, per_form=2)
        db.execute(update(PictureRow).where(PictureRow.use == "held-out").values(retired_at=NOON))
        bare = the_offer(db, room.group.id, room.hall.pair_set, is_paid=False, on=NOON.date())
    assert (bare.most_in_all, [one.most_a_form for one in bare.pairs]) == (1, [0, 0, 0])
