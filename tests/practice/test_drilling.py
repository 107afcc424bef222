"""Today's drill is planned once, from pictures she may see, and given back whole."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import delete, select, update

from drillhall.errors import Conflict, NotFound
from drillhall.practice import playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.left import pictures_left
from drillhall.practice.needs import list_fresh
from drillhall.practice.shelf import list_sets, put_back_set, take_set
from drillhall.practice.today import the_today
from drillhall.store.models.catalogue import CatalogueRow, StateRow, ThirdRow, TraitRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.models.practice import DrillRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.small_hall import NOON, SmallHall, make_small_hall


def start(store: Store, learner: int, at: object = NOON) -> str:
    with store.work() as db:
        return start_drill(db, learner, drill_id=str(uuid.uuid4()), at=at)  # type: ignore[arg-type]


def test_asked_again_while_open_it_is_the_same_drill(store: Store, hall: SmallHall) -> None:
    assert start(store, hall.learner) == start(store, hall.learner, NOON + timedelta(hours=2))


def test_the_next_day_it_is_another_one_and_the_old_one_is_ended(store: Store, hall: SmallHall) -> None:
    first = start(store, hall.learner)
    second = start(store, hall.learner, NOON + timedelta(days=1))
    with store.look() as db:
        assert db.get_one(DrillRow, first).ended_at is not None
    assert first != second


def test_once_finished_another_may_be_had_the_same_day(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        packet = play(db, hall.learner, at=NOON)
    assert start(store, hall.learner, NOON + timedelta(hours=3)) != packet.drill_id


def test_held_out_and_portrait_pictures_are_never_shown(sqlite_store: Store, quick_hall: SmallHall) -> None:
    for day in range(8):
        with sqlite_store.work() as db:
            play(db, quick_hall.learner, at=NOON + timedelta(days=day))
    with sqlite_store.look() as db:
        query = select(PictureRow.use).join(ShowingRow, ShowingRow.picture_id == PictureRow.id)
        assert set(db.scalars(query)) == {"practice"}


def test_pictures_never_seen_come_first(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet = play(db, quick_hall.learner, at=NOON)
    first_rounds = packet.rounds[:3]
    assert all(showing.first_sight for view in first_rounds for showing in view.showings)
    shown = [showing.picture.public_id for view in first_rounds for showing in view.showings]
    assert len(shown) == len(set(shown))


def test_her_own_picture_is_drilled_and_is_never_first_sight(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(PictureRow).values(owner_id=quick_hall.learner))
        db.execute(update(RightsRow).values(may_group=False))
    with sqlite_store.work() as db:
        packet = play(db, quick_hall.learner, at=NOON)
        assert not any(showing.first_sight for view in packet.rounds for showing in view.showings)
        assert not any(db.scalars(select(ShowingRow.fresh)))


def test_what_is_private_to_somebody_else_is_not_drilled(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(PictureRow).values(owner_id=quick_hall.stranger))
        db.execute(update(RightsRow).values(may_group=False))
    with pytest.raises(Conflict, match="no pictures that you may be shown"):
        start(sqlite_store, quick_hall.learner)
    with sqlite_store.look() as db:
        assert db.scalars(select(DrillRow)).all() == []


def test_a_permission_that_has_ended_takes_the_pictures_out(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(RightsRow).values(may_until=date(2031, 3, 2)))
    with pytest.raises(Conflict):
        start(sqlite_store, quick_hall.learner)


def test_without_a_set_there_is_nothing_to_drill_and_it_says_what_to_do(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db, taken=False)
    with pytest.raises(Conflict, match="Take a pair set from the shelf"):
        start(store, hall.learner)


def test_a_set_is_taken_once_and_put_back_without_losing_what_was_learnt(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db, taken=False)
        for _ in range(2):
            take_set(db, hall.learner, hall.pair_set, at=NOON)
    with store.work() as db:
        play(db, hall.learner, at=NOON)
        put_back_set(db, hall.learner, hall.pair_set)
    with store.look() as db:
        assert [(one.taken, one.pairs, one.stages) for one in list_sets(db, hall.learner)] == [(False, 3, ("Stage 1", "Stage 2"))]
        assert len(db.scalars(select(ShowingRow)).all()) > 0


def test_a_set_that_is_not_there_cannot_be_taken(store: Store, hall: SmallHall) -> None:
    with pytest.raises(NotFound), store.work() as db:
        take_set(db, hall.learner, 999, at=NOON)


def test_a_packet_is_whole_and_right(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with store.look() as db:
        packet = playing.the_packet(db, hall.learner, drill_id, now=NOON)
    assert packet.until - packet.planned_at == timedelta(days=14)
    for view in packet.rounds:
        for showing in view.showings:
            question = showing.questions[-1]
            assert question.kind == "form"
            assert question.explained is not None
            assert question.key == str(question.explained.truth.id)
            assert [choice.side for choice in question.choices[:2]] == ["first", "second"]
            assert question.explained.first.form == view.pair.first
            own = question.explained.first if question.explained.truth == view.pair.first else question.explained.second
            other = question.explained.second if own is question.explained.first else question.explained.first
            assert own.picture == showing.picture
            assert other.picture is not None
            assert other.picture != showing.picture


def test_nothing_in_a_question_tells_the_name_before_the_answer(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with store.look() as db:
        packet = playing.the_packet(db, hall.learner, drill_id, now=NOON)
    for view in packet.rounds:
        for showing in view.showings:
            told = showing.picture.alt + showing.picture.credit_short + showing.picture.public_id
            assert "mudpiper" not in told
            assert all(state not in question.hint for question in showing.questions for state in ("straight", "curved"))


def test_a_strangers_packet_is_not_found(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with pytest.raises(NotFound), store.look() as db:
        playing.the_packet(db, hall.stranger, drill_id, now=NOON)


def test_answers_given_stand_in_the_packet_when_it_is_asked_for_again(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with store.work() as db:
        packet = playing.the_packet(db, hall.learner, drill_id, now=NOON)
        answer = answers_to(packet, at=NOON)[0]
        store_answers(db, hall.learner, [answer], received_at=NOON)
    with store.look() as db:
        again = playing.the_packet(db, hall.learner, drill_id, now=NOON)
    assert again.rounds[0].showings[0].given[answer.ask].said == answer.said


def test_a_round_whose_picture_is_withdrawn_is_left_out_unless_it_was_played(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with store.work() as db:
        packet = playing.the_packet(db, hall.learner, drill_id, now=NOON)
        played, unplayed = packet.rounds[0].showings[0], packet.rounds[1].showings[0]
        store_answers(db, hall.learner, [a for a in answers_to(packet, at=NOON) if a.showing == played.id], received_at=NOON)
        gone = [played.picture.public_id, unplayed.picture.public_id]
        db.execute(update(PictureRow).where(PictureRow.public_id.in_(gone)).values(retired_at=NOON))
    with store.look() as db:
        again = playing.the_packet(db, hall.learner, drill_id, now=NOON)
    assert again.withdrawn == tuple(sorted(gone))
    ids = [view.id for view in again.rounds]
    assert packet.rounds[0].id in ids
    assert packet.rounds[1].id not in ids


def test_the_drill_keeps_to_the_minutes_she_has_set(sqlite_store: Store, quick_hall: SmallHall) -> None:
    lengths = []
    for minutes in (2, 6):
        with sqlite_store.work() as db:
            db.execute(update(AccountRow).values(minutes_a_day=minutes))
            db.execute(update(DrillRow).values(ended_at=NOON))
            drill_id = start_drill(db, quick_hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
            packet = playing.the_packet(db, quick_hall.learner, drill_id, now=NOON)
        lengths.append(sum(len(view.showings) for view in packet.rounds))
    assert lengths[0] < lengths[1]
    assert all(count * 12 <= minutes * 60 + 4 * 12 for count, minutes in zip(lengths, (2, 6), strict=True))


def test_new_pairs_are_met_in_stage_order(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(AccountRow).values(new_a_day=1))
    met = []
    for day in range(3):
        with sqlite_store.work() as db:
            packet = play(db, quick_hall.learner, at=NOON + timedelta(days=day))
        met.append([view.pair.id for view in packet.rounds if view.meet])
    assert met == [[pair] for pair in quick_hall.pairs]


def test_a_pair_she_keeps_mixing_up_comes_in_front_and_no_pair_starves(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        quick_hall = make_small_hall(db, pictures=30)
    weak = quick_hall.pairs[1]
    for day in range(8):
        with sqlite_store.work() as db:
            packet = play(db, quick_hall.learner, at=NOON + timedelta(days=day), knows=lambda view, question: view.pair.id != weak)
        if day >= 3:
            assert packet.rounds[0].pair.id == weak
            assert packet.rounds[0].why_words == "You keep mixing these up"
            assert {view.pair.id for view in packet.rounds} == set(quick_hall.pairs)


def test_a_withdrawn_picture_does_not_hold_up_the_day(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with store.work() as db:
        packet = playing.the_packet(db, hall.learner, drill_id, now=NOON)
        gone = packet.rounds[0].showings[0].picture.public_id
        db.execute(update(PictureRow).where(PictureRow.public_id == gone).values(retired_at=NOON))
        left = playing.the_packet(db, hall.learner, drill_id, now=NOON)
        store_answers(db, hall.learner, answers_to(left, at=NOON), received_at=NOON)
        assert pictures_left(db, hall.learner, drill_id, today=NOON.date()) == 0
    assert start(store, hall.learner, NOON + timedelta(hours=1)) != drill_id


@pytest.mark.parametrize("change", [{"use": "held-out"}, {"form_id": None}])
def test_a_picture_that_is_no_longer_what_was_planned_is_left_out(store: Store, hall: SmallHall, change: dict[str, object]) -> None:
    drill_id = start(store, hall.learner)
    with store.work() as db:
        packet = playing.the_packet(db, hall.learner, drill_id, now=NOON)
        first = packet.rounds[0].showings[0].picture.public_id
        db.execute(update(PictureRow).where(PictureRow.public_id == first).values(**change))
    with store.look() as db:
        again = playing.the_packet(db, hall.learner, drill_id, now=NOON)
    assert again.withdrawn == (first,)
    assert packet.rounds[0].id not in {view.id for view in again.rounds}


def test_a_drill_planned_before_its_traits_were_retired_is_still_playable(store: Store, hall: SmallHall) -> None:
    drill_id = start(store, hall.learner)
    with store.work() as db:
        before = playing.the_packet(db, hall.learner, drill_id, now=NOON)
        db.execute(update(TraitRow).values(retired_at=NOON))
        db.execute(update(StateRow).values(retired_at=NOON))
        db.execute(delete(ThirdRow))
    with store.look() as db:
        after = playing.the_packet(db, hall.learner, drill_id, now=NOON)
    assert [view.id for view in after.rounds] == [view.id for view in before.rounds]
    asked = [question.kind for view in after.rounds for showing in view.showings for question in showing.questions]
    assert "trait" in asked


def test_a_pair_of_which_one_form_has_no_picture_rests(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(PictureRow).where(PictureRow.form_id == quick_hall.forms[2]).values(retired_at=NOON))
        packet = play(db, quick_hall.learner, at=NOON)
        page = the_today(db, quick_hall.learner, now=NOON)
    assert {view.pair.id for view in packet.rounds} == {quick_hall.pairs[0], quick_hall.pairs[2]}
    assert (page.without_pictures, page.all_rest) == (1, False)


def test_a_learner_without_a_drill_is_told_what_lacks_sets_or_pictures(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = make_small_hall(db, pictures=0)
        pages = [the_today(db, hall.learner, now=NOON), the_today(db, hall.stranger, now=NOON)]
        db.execute(update(CatalogueRow).values(retired_at=NOON))
        pages.append(the_today(db, hall.stranger, now=NOON))
    told = [(page.has_sets, page.all_rest, page.shelf_is_empty) for page in pages]
    assert told == [(True, True, False), (False, False, False), (False, False, True)]


def test_helped_answers_prove_nothing(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill_id = start_drill(db, quick_hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
        packet = playing.the_packet(db, quick_hall.learner, drill_id, now=NOON)
        helped = [replace(answer, hint=True) for answer in answers_to(packet, at=NOON)]
        store_answers(db, quick_hall.learner, helped, received_at=NOON)
        assert list_fresh(db, quick_hall.learner, None, today=NOON.date()) == {}
