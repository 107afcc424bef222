"""A picture is first sight once, whatever two drills were planned to show; and fresh again after sixty days."""

from __future__ import annotations

import uuid
from collections import Counter
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.practice import playing
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import rebuild
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, ShowingRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall

NEXT_DAY = NOON + timedelta(days=1)


def two_drills(db: Session, hall: SmallHall) -> tuple[list[NewAnswer], list[NewAnswer]]:
    """Plan a drill on each of two days before either is played, and return the answers given to both, each on its day."""
    batches = []
    for at in (NOON, NEXT_DAY):
        drill = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=at)
        batches.append(answers_to(playing.the_packet(db, hall.learner, drill, now=at), at=at))
    return batches[0], batches[1]


def seen(db: Session) -> list[tuple[int, bool, bool]]:
    """Return (picture, first sight, fresh) of every answered showing, the earliest answered first."""
    query = select(ShowingRow, AnswerRow.at).join(AnswerRow, AnswerRow.showing_id == ShowingRow.id).order_by(AnswerRow.at)
    once = {showing.id: showing for showing, _ in db.execute(query)}
    return [(showing.picture_id, showing.first_sight, showing.fresh) for showing in once.values()]


@pytest.mark.parametrize("late", [False, True])
def test_of_two_drills_planned_ahead_a_picture_is_first_sight_in_one(store: Store, hall: SmallHall, late: bool) -> None:
    with store.work() as db:
        early, later = two_drills(db, hall)
        for batch in (later, early) if late else (early, later):
            assert not store_answers(db, hall.learner, batch, received_at=NEXT_DAY + timedelta(hours=5)).refused
        shown = seen(db)
        times = Counter(picture for picture, _, _ in shown)
        assert max(times.values()) > 1, "both drills should show some picture"
        met: set[int] = set()
        for picture, first_sight, fresh in shown:
            assert first_sight is (picture not in met) is fresh
            met.add(picture)
        assert sum(db.scalars(select(TallyRow.count).where(TallyRow.fresh))) == len(times)
        before = folded(db)
        rebuild(db)
        assert folded(db) == before


def test_sixty_days_on_it_is_fresh_again_and_no_first_sight(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        early, later = two_drills(db, quick_hall)
        store_answers(db, quick_hall.learner, early, received_at=NEXT_DAY)
        long_after = [
            one.__class__(one.id, one.showing, one.ask, one.said, one.sure, 8.0, False, one.at + timedelta(days=60)) for one in later
        ]
        store_answers(db, quick_hall.learner, long_after, received_at=NOON + timedelta(days=90))
        pictures = [picture for picture, _, _ in seen(db)]
        again = [(first_sight, fresh) for place, (picture, first_sight, fresh) in enumerate(seen(db)) if picture in pictures[:place]]
        assert again
        assert (False, True) in again
        assert not any(first_sight for first_sight, _ in again)


def test_her_own_picture_never_is(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        for row in db.scalars(select(PictureRow)):
            row.owner_id = quick_hall.learner
        db.flush()
        early, _ = two_drills(db, quick_hall)
        store_answers(db, quick_hall.learner, early, received_at=NEXT_DAY)
        assert {(first_sight, fresh) for _, first_sight, fresh in seen(db)} == {(False, False)}
