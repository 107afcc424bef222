"""What is asked of the tables that grow with every answer is found by an index, on both engines: their own plans say so."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Final

import pytest
from sqlalchemy import Connection, Engine, event, text

from drillhall.practice.planning import plan_for
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.report import the_weak_spots
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.bench.grown.catalogue import write_catalogue
from tests.bench.grown.cloning import clone
from tests.bench.grown.founders import FOUNDERS, LEARNER, NOW, ready_drills, write, write_founders
from tests.bench.grown.visiting import Batches

GROWING: Final = frozenset({"answer", "showing", "round", "drill", "memory", "tally", "sight"})
"""The tables to which every drill of every learner adds."""

TODAY: Final = NOW.date()
Sent = tuple[str, Any]


@pytest.fixture
def full(store: Store) -> Store:
    """Fill a hall with enough learners that reading all their rows for one would be a plan to be ashamed of."""
    with store.work() as db:
        write_catalogue(db, pairs=6)
        write_founders(db, pairs=6, histories=[20] * FOUNDERS)
    with store.engine.begin() as connection:
        clone(connection, 10)
        connection.execute(text("UPDATE showing SET prompted = (id % 3 = 0)"))
        connection.execute(text("ANALYZE"))
    with store.work() as db:
        write(db, ready_drills(pairs=6, count=1, places_from=1))
    return store


def _weak_spots(store: Store) -> None:
    with store.look() as db:
        assert the_weak_spots(db, 1, "teacher", Chosen(), today=TODAY).answers


def _plan(store: Store) -> None:
    with store.look() as db:
        plan_for(db, db.get_one(AccountRow, LEARNER), today=TODAY)


def _store_answers(store: Store) -> None:
    Batches(store).send_next()


ASKING: Final[dict[str, Callable[[Store], None]]] = {"weak spots": _weak_spots, "planning": _plan, "storing": _store_answers}


def test_what_grows_is_read_by_an_index_until_that_is_dropped(full: Store) -> None:
    asked = {what: _asked(full, ask) for what, ask in ASKING.items()}
    assert all(asked.values())
    with full.engine.connect() as connection:
        assert {what: found for what, sent in asked.items() if (found := _read_whole(connection, sent))} == {}
    full.engine.dispose()  # a connection of SQLite's tells the plan that it told before
    with full.engine.connect() as connection:  # without a commit, so that the tables are there again for others
        for what, table in {"weak spots": "tally", "planning": "memory", "storing": "answer"}.items():
            _strip(connection, table)
            assert _read_whole(connection, asked[what]), f"{table} has no index any more, and nobody has noticed"


def _strip(connection: Connection, table: str) -> None:
    """Let a table have its rows alone, and no index."""
    for statement in (f"ALTER TABLE {table} RENAME TO had", f"CREATE TABLE {table} AS SELECT * FROM had", "DROP TABLE had"):
        connection.execute(text(statement))


def _asked(store: Store, ask: Callable[[Store], None]) -> list[Sent]:
    with _sent() as sent:
        ask(store)
    return [(statement, values) for statement, values in sent if statement.startswith("SELECT")]


@contextmanager
def _sent() -> Iterator[list[Sent]]:
    """Yield a list that fills with the statements sent until leaving, each with its values."""
    sent: list[Sent] = []

    def note(_connection: Any, _cursor: Any, statement: str, values: Any, _context: Any, many: bool) -> None:
        if not many:
            sent.append((statement, values))

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(Engine, "before_cursor_execute", note)


def _read_whole(connection: Connection, sent: Iterable[Sent]) -> list[str]:
    """Return the statements by which one of the growing tables is read from end to end, each with the step that does."""
    is_sqlite = connection.dialect.name == "sqlite"
    for way in () if is_sqlite else ("seqscan", "hashjoin", "mergejoin"):
        # Of few rows reading all is the best plan; forbidden that, PostgreSQL does so only where no index leads to what is wanted.
        connection.execute(text(f"SET LOCAL enable_{way} = off"))
    steps = _sqlite_steps if is_sqlite else _postgresql_steps
    return [f"{step}: {statement}" for statement, values in sent for step in steps(connection, statement, values)]


def _sqlite_steps(connection: Connection, statement: str, values: Any) -> Iterator[str]:
    """SQLite, "EXPLAIN QUERY PLAN": SCAN visits every row, of the table or of an index, as does making an AUTOMATIC one; SEARCH a part."""
    names = {alias: name for name, alias in re.findall(r'\b(?:FROM|JOIN) "?(\w+)"? AS "?(\w+)"?', statement)}
    for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values):
        if (found := re.match(r"(?:SCAN|SEARCH(?=.* AUTOMATIC )) (\w+)", row.detail)) and names.get(found[1], found[1]) in GROWING:
            yield row.detail


def _postgresql_steps(connection: Connection, statement: str, values: Any) -> Iterator[str]:
    """PostgreSQL, "Using EXPLAIN": a sequential scan, or an index without a condition, reads the whole."""
    plan = connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {statement}", values).scalar_one()
    for node in _nodes(plan[0]["Plan"]):
        kind, table = node["Node Type"], node.get("Relation Name")
        if table in GROWING and kind != "Bitmap Heap Scan" and "Index Cond" not in node:
            yield f"{kind} {table}"


def _nodes(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for inner in node.get("Plans", ()):
        yield from _nodes(inner)
