"""The floor of storing: what each batch writes, read off the rows that differ, and written again by the bare driver."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any

import psycopg
from flask import Flask
from psycopg.types.json import Json
from sqlalchemy import JSON, Table
from sqlalchemy.engine import make_url

from drillhall.store.base import Row
from drillhall.store.session import BUSY_MS, Store
from tests.bench.grown.founders import LEARNER
from tests.bench.grown.visiting import Batches

Kept = dict[tuple[Any, ...], dict[str, Any]]
Statement = tuple[str, list[tuple[Any, ...]]]


class BareWrites:
    """Writes the same rows as each batch of answers does, in one transaction, behind a view that does nothing else.

    The rows are those of the learner that differ in `told` after the hall has taken the batch; they are written to `bare`.
    """

    def __init__(self, told: Store, bare: Store, *, answers: int, batches: int) -> None:
        self._sqlite = bare.is_sqlite
        self._connection: Any = self._connect(bare)
        tables = [table for table in Row.metadata.sorted_tables if "account_id" in table.columns and table.primary_key]
        self._waiting = list(self._read(told, tables, Batches(told, answers=answers), batches))[::-1]
        app = Flask("bare")
        app.add_url_rule("/", view_func=self._view, methods=["POST"])
        self._client = app.test_client()
        self.backend = 0 if self._sqlite else int(self._connection.info.backend_pid)

    def __enter__(self) -> BareWrites:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def write_next(self) -> None:
        """Write what the next batch comes to."""
        assert self._client.post("/").status_code == 200

    def _view(self) -> str:
        statements = self._waiting.pop()
        cursor = self._connection.cursor()
        cursor.execute("BEGIN IMMEDIATE" if self._sqlite else "BEGIN")
        for statement, values in statements:
            cursor.executemany(statement, values)
        cursor.execute("COMMIT")
        return ""

    def _connect(self, store: Store) -> Any:
        if not self._sqlite:
            url = make_url(store.url).set(drivername="postgresql")
            return psycopg.connect(url.render_as_string(hide_password=False), autocommit=True)
        connection = sqlite3.connect(str(make_url(store.url).database), isolation_level=None, check_same_thread=False)
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON", f"busy_timeout={BUSY_MS}"):
            connection.execute(f"PRAGMA {pragma}")
        return connection

    def _read(self, told: Store, tables: list[Table], sending: Batches, batches: int) -> Iterator[list[Statement]]:
        reading = self._connect(told)
        before = [_rows(reading, table) for table in tables]
        for _ in range(batches):
            sending.send_next()
            after = [_rows(reading, table) for table in tables]
            yield [one for table, was, now in zip(tables, before, after, strict=True) for one in self._differences(table, was, now)]
            before = after
        reading.close()

    def _differences(self, table: Table, was: Kept, now: Kept) -> Iterator[Statement]:
        keys, mark = [column.name for column in table.primary_key], "?" if self._sqlite else "%s"
        new = [tuple(self._given(table, name, value) for name, value in now[key].items()) for key in now if key not in was]
        if new:
            columns = ", ".join(f'"{column.name}"' for column in table.columns)
            yield f'INSERT INTO "{table.name}" ({columns}) VALUES ({", ".join([mark] * len(table.columns))})', new
        changed: dict[tuple[str, ...], list[tuple[Any, ...]]] = {}
        for key in now:
            names = tuple(name for name in now[key] if key in was and was[key][name] != now[key][name])
            if names:
                changed.setdefault(names, []).append((*(self._given(table, name, now[key][name]) for name in names), *key))
        here = " AND ".join(f'"{name}" = {mark}' for name in keys)
        for names, values in changed.items():
            yield f'UPDATE "{table.name}" SET {", ".join(f"{name} = {mark}" for name in names)} WHERE {here}', values
        if gone := [key for key in was if key not in now]:
            yield f'DELETE FROM "{table.name}" WHERE {here}', gone

    def _given(self, table: Table, name: str, value: Any) -> Any:
        """Return a value as the bare driver takes it back; PostgreSQL's wants to be told what is JSON."""
        is_json = isinstance(table.columns[name].type, JSON) and not self._sqlite
        return Json(value) if is_json and value is not None else value


def _rows(reading: Any, table: Table) -> Kept:
    names = [column.name for column in table.columns]
    keys = [column.name for column in table.primary_key]
    columns = ", ".join(f'"{name}"' for name in names)
    cursor = reading.cursor()
    cursor.execute(f'SELECT {columns} FROM "{table.name}" WHERE account_id = {LEARNER}')
    found = [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
    return {tuple(row[name] for name in keys): row for row in found}
