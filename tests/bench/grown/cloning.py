"""Makes many learners of ten within the database: each copy of a founder has her log, her memories, tallies and sights."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, Table, text

from drillhall.store.base import Row
from drillhall.store.models.catalogue import TakenSetRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import (
    AnswerRow,
    BesideTallyRow,
    DrillRow,
    MemoryRow,
    PromptTallyRow,
    RoundRow,
    ShowingRow,
    SightRow,
    TallyRow,
    TallyYearRow,
)
from drillhall.store.models.seasons import AssignmentRow
from tests.bench.grown.founders import FOUNDERS

CLONED: Final = (
    *(AccountRow, GroupRow, MembershipRow, AssignmentRow, TakenSetRow, DrillRow, RoundRow, ShowingRow, AnswerRow),
    *(MemoryRow, TallyRow, TallyYearRow, PromptTallyRow, BesideTallyRow, SightRow),
)

NUMBERED: Final = {"account": FOUNDERS, "group": 1, "membership": FOUNDERS, "assignment": 1}
"""How far the numbers of one table's copies lie apart; rounds and showings as many as there are."""

HEX: Final = {"sqlite": "printf('%08x', n)", "postgresql": "lpad(to_hex(n), 8, '0')"}


def clone(connection: Connection, copies: int) -> None:
    """Copy the founders so often, so that there are `copies` of each in all, each ten in a group of their own.

    What hangs on the number of an account, by how many days the day of return is spread, stays as her founder's is.
    """
    if copies < 2:
        return
    steps = NUMBERED | {name: connection.execute(text(f"SELECT MAX(id) FROM {name}")).scalar_one() for name in ("round", "showing")}
    for model in CLONED:
        connection.execute(text(_copying(model.__table__, connection.dialect.name, steps)), {"copies": copies})  # type: ignore[arg-type]


def _copying(table: Table, engine: str, steps: dict[str, int]) -> str:
    quoted = ", ".join(f'"{column.name}"' for column in table.columns)
    values = ", ".join(_value(table, column.name, engine, steps) for column in table.columns)
    hers = {"account": "id", "group": "id", "assignment": "group_id"}.get(table.name, "account_id")
    return (
        f'INSERT INTO "{table.name}" ({quoted}) WITH RECURSIVE numbers(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM numbers '
        f'WHERE n + 1 < :copies) SELECT {values} FROM numbers CROSS JOIN "{table.name}" AS t WHERE t."{hers}" <= {FOUNDERS} ORDER BY n'
    )


def _value(table: Table, name: str, engine: str, steps: dict[str, int]) -> str:
    """Return what a copy's column is: numbers moved by a step a copy, names told apart, all else as it was."""
    column = table.columns[name]
    target = next((key.column.table.name for key in column.foreign_keys), table.name if name == "id" else "")
    if target in steps:
        return f't."{name}" + n * {steps[target]}'
    if target == "drill":
        return f"t.\"{name}\" || '-' || n"
    if (table.name, name) in {("answer", "id"), ("group", "public_id")}:
        return f'{HEX[engine]} || substr(t."{name}", 9)'
    if (table.name, name) in {("account", "name"), ("account", "name_folded")}:
        return f"t.\"{name}\" || ' of ' || n"
    return f't."{name}"'


assert Row.metadata.tables  # every table is known before one is copied
