"""What a batch of answers is checked by is found by what the batch names, however much its learner was ever shown."""

from __future__ import annotations

from typing import Any

from sqlalchemy import event

from drillhall.store.queries import batch
from drillhall.store.session import Store


def test_showings_are_found_by_their_own_ids_and_not_among_all_that_she_was_shown(sqlite_store: Store) -> None:
    sent: list[tuple[str, Any]] = []
    with sqlite_store.look() as db:
        connection = db.connection()
        event.listen(connection, "before_cursor_execute", lambda _1, _2, statement, values, _3, _4: sent.append((statement, values)))
        batch.showings(db, 1, range(1, 41))
        (asked, values), *_ = sent
        steps = [row.detail for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {asked}", values)]
    assert any("named USING INTEGER PRIMARY KEY" in step for step in steps), steps
