"""Rows written from one engine and taken back on the other are the same to the last bit; lines that are none are refused."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from sqlalchemy import JSON, BigInteger, Boolean, Column, Date, Double, ForeignKey, Integer, MetaData, String, Table, Text, select
from sqlalchemy.engine import Connection

from drillhall.errors import Invalid
from drillhall.store.base import UtcTime
from drillhall.store.dumping import dump, load, read_tables
from drillhall.store.session import Store

ODD = Table(
    "odd",
    MetaData(),
    Column("id", Integer, primary_key=True),
    Column("said", Text),
    Column("short", String(5)),
    Column("at", UtcTime()),
    Column("day", Date),
    Column("yes", Boolean),
    Column("share", Double),
    Column("big", BigInteger),
    Column("told", JSON, nullable=False),
    Column("same_as", Integer, ForeignKey("odd.id")),
)
BIG = 2**63
FIRST, LAST = (datetime.fromisoformat(day) for day in ("1970-01-03", "9998-01-01"))
NAMES = [column.name for column in ODD.columns]

words = some.text(some.characters(exclude_characters="\x00", exclude_categories=["Cs"]), max_size=12)
told = some.recursive(
    some.none() | some.booleans() | some.integers(-BIG, BIG - 1) | some.floats(allow_nan=False, allow_infinity=False) | words,
    lambda inner: some.lists(inner, max_size=3) | some.dictionaries(words, inner, max_size=3),
    max_leaves=5,
)
zones = some.sampled_from([UTC, timezone(timedelta(hours=5, minutes=45)), timezone(timedelta(hours=-11))])
rows = some.lists(
    some.tuples(
        some.none() | words,
        some.none() | words.map(lambda text: text[:5]),
        some.none() | some.datetimes(FIRST, LAST, timezones=zones),
        some.none() | some.dates(),
        some.none() | some.booleans(),
        some.none() | some.floats(allow_nan=False, allow_infinity=False),
        some.none() | some.integers(-BIG, BIG - 1),
        told,
        some.none() | some.just(1),
    ),
    max_size=6,
)


@pytest.fixture(scope="module")
def both(pg_dsn: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Store, Store]]:
    """The odd table on each engine."""
    stores = (Store(f"sqlite:///{tmp_path_factory.mktemp('odd') / 'odd.sqlite'}"), Store(pg_dsn))
    for store in stores:
        ODD.create(store.engine)
    yield stores
    for store in stores:
        ODD.drop(store.engine)
        store.close()


def reflected(connection: Connection) -> Table:
    (found,) = (table for table in read_tables(connection) if table.name == "odd")
    return found


def dumped(store: Store) -> bytes:
    out = io.BytesIO()
    with store.snapshot() as connection:
        dump(connection, reflected(connection), out)
    return out.getvalue()


def replace(store: Store, lines: bytes) -> int:
    with store.work() as db:
        db.execute(ODD.update().values(same_as=None))
        db.execute(ODD.delete())
        return load(db.connection(), reflected(db.connection()), io.BytesIO(lines))


@settings(max_examples=20, deadline=None)
@given(rows)
def test_rows_cross_from_engine_to_engine_and_back_unchanged(both: tuple[Store, Store], rows: list[tuple[Any, ...]]) -> None:
    sqlite, postgresql = both
    values = [dict(zip(NAMES, (number, *row), strict=True)) for number, row in enumerate(rows, 1)]
    with sqlite.work() as db:
        db.execute(ODD.update().values(same_as=None))
        db.execute(ODD.delete())
        for value in values:
            db.execute(ODD.insert(), value)
    lines = dumped(sqlite)
    assert replace(postgresql, lines) == len(rows)
    assert dumped(postgresql) == lines
    with postgresql.look() as db:
        assert [tuple(row) for row in db.execute(select(ODD).order_by(ODD.c.id))] == [tuple(value.values()) for value in values]
    replace(sqlite, dumped(postgresql))
    assert dumped(sqlite) == lines


def lines_of(*rows: list[Any], names: list[str] = NAMES) -> bytes:
    return b"".join(json.dumps(row).encode() + b"\n" for row in (names, *rows))


PLAIN: list[Any] = [1, "x", "y", "2031-03-03T08:00:00+00:00", "2031-03-03", True, 0.5, 7, None, None]


@pytest.mark.parametrize("engine", [0, 1])
def test_a_row_may_point_at_one_that_comes_later(both: tuple[Store, Store], engine: int) -> None:
    store = both[engine]
    replace(store, lines_of([*PLAIN[:-1], 2], [2, *PLAIN[1:]]))
    with store.look() as db:
        assert db.execute(select(ODD.c.id, ODD.c.same_as).order_by(ODD.c.id)).all() == [(1, 2), (2, None)]


@pytest.mark.parametrize("engine", [0, 1])
def test_the_next_row_is_numbered_after_those_taken_back(both: tuple[Store, Store], engine: int) -> None:
    store = both[engine]
    replace(store, lines_of([41, *PLAIN[1:]]))
    with store.work() as db:
        made = db.execute(ODD.insert(), {"told": {}}).inserted_primary_key
    assert made == (42,)


@pytest.mark.parametrize("engine", [0, 1])
@pytest.mark.parametrize(
    ("lines", "why"),
    [
        (b"", "columns"),
        (b"{", "cannot be read"),
        (lines_of(names=NAMES[:-1]), "columns"),
        (lines_of(names=[*NAMES, "more"]), "columns"),
        (lines_of(PLAIN) + b'[2, "half', "cannot be read"),
        (lines_of(PLAIN[:-1]), "does not hold"),
        (lines_of([*PLAIN[:3], "2031-03-03T08:00:00", *PLAIN[4:]]), "does not hold"),
        (lines_of([*PLAIN[:4], "yesterday", *PLAIN[5:]]), "does not hold"),
        (lines_of([*PLAIN[:5], 1, *PLAIN[6:]]), "does not hold"),
        (lines_of([*PLAIN[:6], "much", *PLAIN[7:]]), "does not hold"),
        (lines_of(PLAIN, PLAIN), "breaks one of its rules"),
        (lines_of([*PLAIN[:-1], 99]), "within odd: it breaks"),
    ],
)
def test_what_is_no_row_of_the_table_is_refused_and_nothing_is_kept(both: tuple[Store, Store], engine: int, lines: bytes, why: str) -> None:
    store = both[engine]
    replace(store, lines_of([5, *PLAIN[1:]]))
    with pytest.raises(Invalid, match=why):
        replace(store, lines)
    with store.look() as db:
        assert list(db.scalars(select(ODD.c.id))) == [5]


def test_what_postgresql_cannot_hold_is_told(both: tuple[Store, Store]) -> None:
    """SQLite keeps a text that is longer than its column says; PostgreSQL does not."""
    with pytest.raises(Invalid, match="among rows 1 to 1 of odd"):
        replace(both[1], lines_of([1, "x", "too long", *PLAIN[3:]]))


def test_a_snapshot_sees_nothing_that_is_written_after_its_first_reading(both: tuple[Store, Store]) -> None:
    for store in both:
        replace(store, lines_of(PLAIN))
        with store.snapshot() as connection:
            assert connection.execute(select(ODD.c.id)).all() == [(1,)]
            with store.work() as db:
                db.execute(ODD.insert(), {"id": 2, "told": {}})
            assert connection.execute(select(ODD.c.id)).all() == [(1,)]
        with store.look() as db:
            assert len(db.execute(select(ODD.c.id)).all()) == 2
