"""Grown halls: what copies hold is what the hall's own fold makes of their logs."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select

from drillhall.practice.folding import rebuild
from drillhall.store.models.practice import AnswerRow, MemoryRow, SightRow, TallyRow
from drillhall.store.session import Store
from tests.bench.grown.catalogue import write_catalogue
from tests.bench.grown.cloning import clone
from tests.bench.grown.founders import write_founders


def _folded(store: Store) -> list[Any]:
    """Return all that is folded, but for the days of return, which hang on the number of an account."""
    with store.look() as db:
        memories = [column for column in MemoryRow.__table__.columns if column.name != "due_day"]
        found = (db.execute(select(*columns)) for columns in (memories, TallyRow.__table__.columns, SightRow.__table__.columns))
        return [sorted(map(repr, rows)) for rows in found]


def test_copies_hold_what_the_hall_makes_of_their_logs(store: Store) -> None:
    with store.work() as db:
        write_catalogue(db, pairs=6)
        write_founders(db, pairs=6, histories=[20] * 10)
    with store.engine.begin() as connection:
        clone(connection, 2)
    with store.look() as db:
        assert len({answer.account_id for answer in db.scalars(select(AnswerRow))}) == 20
    before = _folded(store)
    with store.work() as db:
        assert rebuild(db) == 20
    assert _folded(store) == before
