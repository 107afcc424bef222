"""A rebuild gives the same rows to the last bit after drills, a trial, numbers of her own, renditions and a rarity drill."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.core.values import Rendition
from drillhall.practice import own_numbers, playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import rebuild
from drillhall.store.models.practice import MemoryRow, ParameterSetRow, PromptTallyRow, ShowingRow, SightRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.rows import answers, folded
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_own_numbers import OFFER
from tests.practice.test_rarity import answer_all
from tests.practice.test_rarity import begin as begin_rarity
from tests.practice.test_trying import answer as answer_trial
from tests.practice.test_trying import begin as begin_trial


def sights(db: Session) -> Sequence[Any]:
    columns = (ShowingRow.id, ShowingRow.first_sight, ShowingRow.fresh)
    return [tuple(row) for row in db.execute(select(*columns).order_by(ShowingRow.id))]


def altered_drill(db: Session, hall: SmallHall, *, days: int) -> None:
    """A drill of which every other showing comes from far off, and whose answers come a day late."""
    at = NOON + timedelta(days=days)
    drill = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=at)
    packet = playing.the_packet(db, hall.learner, drill, now=at)
    shown = [showing.id for view in packet.rounds for showing in view.showings][::2]
    db.execute(update(ShowingRow).where(ShowingRow.id.in_(shown)).values(rendition=Rendition.FAR_OFF.value))
    db.flush()
    stored = store_answers(
        db, hall.learner, answers_to(packet, at=at, knows=lambda view, question: question.place != 0), received_at=at + timedelta(days=1)
    )
    assert not stored.refused


def test_a_rebuild_gives_the_same_rows_after_everything(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        answer_all(db, hall, begin_rarity(db, hall))
    begin_trial(store, hall)
    answer_trial(store, hall, "rrrrr")
    with store.work() as db:
        play(db, hall.learner, at=NOON + timedelta(days=1), knows=lambda view, question: question.place != 1)
    with store.work() as db:
        own_numbers.keep_offer(db, hall.learner, OFFER, at=NOON + timedelta(days=2))
        db.flush()
        own_numbers.take_set(db, hall.learner, db.scalars(select(ParameterSetRow.id)).one(), at=NOON + timedelta(days=2))
        altered_drill(db, hall, days=3)
        play(db, hall.learner, at=NOON + timedelta(days=5))
    with store.look() as db:
        before, seen, log = folded(db), sights(db), answers(db)
        assert Rendition.FAR_OFF.value in {row.rendition for row in db.scalars(select(TallyRow))}
    assert all(before.values())
    with store.work() as db:
        db.execute(update(MemoryRow).values(stability_days=1.0, difficulty=5.0, recalled=[]))
        db.execute(update(TallyRow).values(count=9))
        db.execute(update(PromptTallyRow).values(missed=7))
        db.execute(update(SightRow).values(times=0))
    with store.work() as db:
        assert rebuild(db) == 1
    with store.look() as db:
        assert folded(db) == before
        assert sights(db) == seen
        assert answers(db) == log, "the answers are the truth and stay as they are"
