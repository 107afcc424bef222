"""The end of a drill: read in as many statements whatever the number of its pairs, and the same on every later day."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from sqlalchemy import update
from sqlalchemy.orm import Session

from drillhall.core.values import Standing
from drillhall.errors import NotFound
from drillhall.practice.drill_end import the_drill_end
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall
from tests.web.curating.curated import counted_statements


def statements(db: Session, hall: SmallHall, *, minutes: int) -> tuple[int, int]:
    """Return how many pairs a drill of so many minutes has in which all is missed, and how many statements its end takes."""
    db.execute(update(AccountRow).where(AccountRow.id == hall.learner).values(minutes_a_day=minutes))
    at = NOON + timedelta(days=minutes)
    packet = play(db, hall.learner, at=at, knows=lambda view, question: False)
    db.expire_all()
    with counted_statements() as seen:
        end = the_drill_end(db, hall.learner, packet.drill_id, now=at + timedelta(hours=1))
    assert len(end.mixed) >= len(end.rounds)
    return len(end.rounds), len(seen)


def test_it_asks_the_database_no_oftener_for_more_pairs(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        one, few = statements(db, quick_hall, minutes=1)
        three, many = statements(db, quick_hall, minutes=30)
    assert (one, three) == (1, 3)
    assert many == few


def test_a_day_later_it_tells_the_same_standing_before(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        for day in (0, 2, 6, 12, 20, 30):
            packet = play(db, quick_hall.learner, at=NOON + timedelta(days=day), sure="certain")
        told = [
            [(one.pair.id, one.before) for one in the_drill_end(db, quick_hall.learner, packet.drill_id, now=now).rounds]
            for now in (NOON + timedelta(days=30, hours=2), NOON + timedelta(days=31), NOON + timedelta(days=400))
        ]
    assert told[0] == told[1] == told[2]
    assert {before for _, before in told[0]} != {Standing.SHAKY}


def test_nothing_is_told_of_anothers_drill_by_its_number(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        packet = play(db, quick_hall.learner, at=NOON)
        for drill_id, who in ((packet.drill_id, quick_hall.stranger), (str(uuid.uuid4()), quick_hall.learner)):
            with pytest.raises(NotFound):
                the_drill_end(db, who, drill_id, now=NOON)
