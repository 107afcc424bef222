"""Reads rows back as plain tuples, to be compared to the last unit."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from drillhall.core.confusion import sum_years
from drillhall.core.values import TallyKey
from drillhall.practice.folding import rebuild
from drillhall.practice.skill import tally_key
from drillhall.store.base import Row
from drillhall.store.models.practice import (
    AnswerRow,
    BesideTallyRow,
    DrillRow,
    MemoryRow,
    PromptTallyRow,
    ShowingRow,
    SightRow,
    TallyRow,
    TallyYearRow,
)
from drillhall.store.session import Store


def rows_of(db: Session, table: type[Row]) -> list[tuple[Any, ...]]:
    """Return every row of a table as a tuple of its columns, sorted."""
    columns = list(table.__table__.columns)
    return sorted((tuple(row) for row in db.execute(select(*columns))), key=repr)


def folded(db: Session) -> dict[str, list[tuple[Any, ...]]]:
    """Return every row of what is folded from the log."""
    tables = (MemoryRow, TallyRow, TallyYearRow, PromptTallyRow, BesideTallyRow, SightRow)
    found = {table.__tablename__: rows_of(db, table) for table in tables}
    found["shown"] = sorted(tuple(row) for row in db.execute(select(ShowingRow.id, ShowingRow.first_sight, ShowingRow.fresh)))
    found["days"] = sorted((row.id, row.first_at, row.local_day) for row in db.scalars(select(DrillRow)))
    return found


def sum_tally(db: Session) -> None:
    """Add up by year, as the fold does, a tally that was written by hand."""
    db.flush()
    tallies: dict[tuple[int, int], dict[TallyKey, int]] = defaultdict(dict)
    for row in db.scalars(select(TallyRow)):
        tallies[row.account_id, row.pair_id][tally_key(row)] = row.count
    db.execute(delete(TallyYearRow))
    for (account_id, pair_id), tally in tallies.items():
        for (year, shown, said), sums in sum_years(tally).items():
            key = {"account_id": account_id, "year": year, "pair_id": pair_id, "shown_form_id": shown, "said_form_id": said}
            db.add(TallyYearRow(**key, **sums._asdict()))
    db.flush()
    db.expire_all()


def answers(db: Session) -> list[tuple[Any, ...]]:
    """Return the log."""
    return rows_of(db, AnswerRow)


def is_as_rebuilt(store: Store) -> bool:
    """Say whether a rebuild of all learners comes to the very rows that are stored; what it came to is kept."""
    with store.look() as db:
        before = folded(db)
    with store.work() as db:
        rebuild(db)
    with store.look() as db:
        return folded(db) == before
