"""Two pictures side by side in a drill: planned, shown, withdrawn, counted by themselves, and both of them seen."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.confusion.detection import forced_choice_sensitivity, log_linear
from drillhall.core.rounds import beside as planning
from drillhall.core.values import Standing
from drillhall.practice import playing, side_by_side
from drillhall.practice.answering import store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import rebuild, refold_pictures
from drillhall.practice.packets import Packet, ShowingView
from drillhall.practice.reviewing import the_standing
from drillhall.store.models.pictures import LabelChangeRow, PictureRow
from drillhall.store.models.practice import AnswerRow, BesideTallyRow, ShowingRow, SightRow, TallyRow
from drillhall.store.queries import batch, log
from drillhall.store.queries.standing import sure_answers
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall

LATER = NOON + timedelta(days=3)


@pytest.fixture(autouse=True)
def _always(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "BESIDE_SHARE", 1.0)


def plan_later(db: Session, hall: SmallHall) -> Packet:
    """Play a first drill, then plan one three days later, when pairs are shaky and their pictures out of mind."""
    play(db, hall.learner, at=NOON)
    drill = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=LATER)
    return playing.the_packet(db, hall.learner, drill, now=LATER)


def twos(packet: Packet) -> list[ShowingView]:
    return [showing for view in packet.rounds for showing in view.showings if showing.second]


def stored(db: Session) -> list[ShowingRow]:
    return list(db.scalars(select(ShowingRow).where(ShowingRow.beside_id.is_not(None)).order_by(ShowingRow.id)))


def test_each_is_one_of_either_form_at_the_end_of_its_round_and_none_in_a_first_round(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        packet = plan_later(db, hall)
        shown = twos(packet)
        assert shown
        forms = dict(iter(db.execute(select(PictureRow.id, PictureRow.form_id))))
        public = dict(iter(db.execute(select(PictureRow.public_id, PictureRow.id))))
        rows = {row.id: row for row in stored(db)}
        for view in packet.rounds:
            assert [showing.second is not None for showing in view.showings].count(True) <= 1
            assert not (view.meet and any(showing.second for showing in view.showings))
            if view.showings[-1].second:
                row, last = rows[view.showings[-1].id], view.showings[-1]
                question, told = last.questions[0], last.questions[0].two
                assert told is not None
                assert {forms[row.picture_id], forms[row.beside_id or 0]} == {view.pair.first.id, view.pair.second.id}
                assert told.asked.id == row.form_id == forms[public[last.pictures[int(question.key) - 1].public_id]]
                assert [forms[public[one.public_id]] for one in last.pictures] == [told.first.form.id, told.second.form.id]
        assert {showing.questions[0].key for showing in shown} == {"1", "2"}


def test_both_pictures_count_as_seen_and_nothing_else_is_touched(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        packet = plan_later(db, hall)
        every = answers_to(packet, at=LATER)
        two = {showing.id for showing in twos(packet)}
        others = [answer for answer in every if answer.showing not in two]
        store_answers(db, hall.learner, others, received_at=LATER + timedelta(hours=1))
        counts = dict(iter(db.execute(select(SightRow.picture_id, SightRow.times))))
        before, sure = folded(db), sorted(sure_answers(db, hall.learner), key=repr)
        asked = [answer for answer in every if answer.showing in two]
        assert not store_answers(db, hall.learner, asked, received_at=LATER + timedelta(hours=1)).refused
        after = folded(db)
        changed = {table for table in before if before[table] != after[table]}
        assert changed == {"sight", "beside_tally"}
        shown = [one for row in stored(db) for one in (row.picture_id, row.beside_id)]
        times = dict(iter(db.execute(select(SightRow.picture_id, SightRow.times))))
        assert {one: times[one] - counts.get(one, 0) for one in set(shown)} == {one: shown.count(one) for one in shown}
        assert db.scalars(select(AnswerRow.sure).where(AnswerRow.showing_id.in_(two))).all() == [None] * len(two)
        assert sum(db.scalars(select(BesideTallyRow.shown))) == len(two)
        assert sure == sorted(sure_answers(db, hall.learner), key=repr) != []
        rebuild(db)
        assert folded(db) == after


def test_a_corrected_label_of_the_picture_beside_judges_anew(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet, learner = plan_later(db, quick_hall), quick_hall.learner
        store_answers(db, learner, answers_to(packet, at=LATER), received_at=LATER + timedelta(hours=1))
        shown = db.execute(select(ShowingRow.id, ShowingRow.picture_id, ShowingRow.beside_id).join(AnswerRow).distinct()).all()
        beside = next(one.beside_id for one in shown if one.beside_id is not None)
        db.add(LabelChangeRow(picture_id=beside, at=LATER + timedelta(days=1)))
        db.flush()
        touched = {one.id for one in shown if beside in (one.picture_id, one.beside_id)}
        assert log.judged_anew(db, learner, since=LATER) == (1, len(touched))
        assert log.judged_anew(db, quick_hall.stranger, since=LATER) == (0, 0)


def test_a_picture_that_stood_beside_is_no_first_sight_afterwards(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet = plan_later(db, quick_hall)
        row = stored(db)[0]
        first = next(one for one in answers_to(packet, at=LATER) if one.showing == row.id)
        other = next(one for one in db.scalars(select(ShowingRow)) if one.beside_id is None and one.round_id == row.round_id)
        other.picture_id, other.form_id = row.beside_id or 0, db.get_one(PictureRow, row.beside_id).form_id or 0
        db.flush()
        given = next(one for one in answers_to(packet, at=LATER + timedelta(minutes=1)) if one.showing == other.id)
        store_answers(db, quick_hall.learner, [first, given], received_at=LATER + timedelta(hours=1))
        assert (other.first_sight, other.fresh) == (False, False)


@pytest.mark.parametrize("place", ["picture_id", "beside_id"])
def test_its_round_is_left_out_once_either_picture_is_withdrawn(sqlite_store: Store, quick_hall: SmallHall, place: str) -> None:
    with sqlite_store.work() as db:
        packet = plan_later(db, quick_hall)
        row = stored(db)[0]
        picture = db.get_one(PictureRow, getattr(row, place))
        picture.use = "portrait"
        db.flush()
        again = playing.the_packet(db, quick_hall.learner, packet.drill_id, now=LATER)
        assert row.round_id in {view.id for view in packet.rounds}
        assert row.round_id not in {view.id for view in again.rounds}
        assert picture.public_id in again.withdrawn
        assert picture.public_id in playing.list_withdrawn(db, batch.hold_learner(db, quick_hall.learner), now=LATER)


def test_relabelling_the_second_picture_judges_its_answers_anew(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet = plan_later(db, quick_hall)
        store_answers(db, quick_hall.learner, answers_to(packet, at=LATER), received_at=LATER + timedelta(hours=1))
        row, before = stored(db)[0], sum(db.scalars(select(BesideTallyRow.shown)))
        db.get_one(PictureRow, row.beside_id).form_id = row.form_id
        db.flush()
        answered, learners = refold_pictures(db, [row.beside_id or 0])
        assert (answered > 0, learners) == (True, 1)
        assert sum(db.scalars(select(BesideTallyRow.shown))) < before


@pytest.mark.parametrize("said", ["3", "0", "", "first"])
def test_what_names_neither_picture_is_refused(sqlite_store: Store, quick_hall: SmallHall, said: str) -> None:
    with sqlite_store.work() as db:
        packet = plan_later(db, quick_hall)
        two = {showing.id for showing in twos(packet)}
        wrong = [type(one)(one.id, one.showing, one.ask, said, None, 8.0, False, one.at) for one in answers_to(packet, at=LATER)]
        refused = store_answers(db, quick_hall.learner, [one for one in wrong if one.showing in two], received_at=LATER).refused
        assert {one.why for one in refused} == {"That picture was not among the choices: answer with 1 or 2."}
        assert len(refused) == len(two)


def test_standing_tells_of_it_apart(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet = plan_later(db, quick_hall)
        before = the_standing(db, quick_hall.learner, now=LATER)
        assert before.beside == ()
        two = {showing.id for showing in twos(packet)}
        only = [one for one in answers_to(packet, at=LATER, knows=lambda view, question: question.kind != "beside") if one.showing in two]
        store_answers(db, quick_hall.learner, only, received_at=LATER + timedelta(hours=1))
        page = the_standing(db, quick_hall.learner, now=LATER)
        assert {(one.right, one.d_prime) for one in page.beside} == {(0, None)}
        assert [(one.pair, one.directions) for one in page.pairs] == [(one.pair, one.directions) for one in before.pairs]
        assert page.calibration == before.calibration
        assert page.count(Standing.SHAKY) == before.count(Standing.SHAKY)
        db.add(
            BesideTallyRow(account_id=quick_hall.learner, pair_id=page.beside[0].pair.id, asked_form_id=1, week=203101, missed=2, shown=20)
        )
        db.flush()
        told = side_by_side.standings_beside(db, quick_hall.learner, {one.pair.id: one.pair for one in page.beside})[0]
        assert told.d_prime == forced_choice_sensitivity(log_linear(told.right, told.shown))
        assert db.scalars(select(TallyRow).where(TallyRow.choices > 3)).all() == []
