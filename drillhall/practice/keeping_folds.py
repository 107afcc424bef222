"""Keeps what a fold comes to: of what is stored already, only what has changed is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Final

from sqlalchemy import (
    JSON,
    ColumnElement,
    Insert,
    Integer,
    Text,
    and_,
    bindparam,
    case,
    cast,
    delete,
    func,
    insert,
    literal_column,
    select,
    type_coerce,
    update,
)
from sqlalchemy.orm import Session

from drillhall.core.confusion import YearKey, sum_years
from drillhall.core.folding import PairFold
from drillhall.core.folding_on import FoldedOn
from drillhall.core.memory import Parameters, due_day
from drillhall.core.values import Memory, TallyKey
from drillhall.store.base import Row
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import BesideTallyRow, MemoryRow, PromptTallyRow, TallyRow, TallyYearRow
from drillhall.store.queries.batch import Learner
from drillhall.store.queries.many import dialect_of, inserting, send, table_of

Cells = Mapping[tuple[Any, ...], tuple[int, ...]]
"""Counts by the rest of a table's key after the learner."""

_GIVEN: Final = "given_"


def keep_folds(db: Session, account: AccountRow, folds: Mapping[int, PairFold], *, parameters: Parameters) -> None:
    """Store the memory and the counts of some pairs of a learner, by pair, in place of those stored."""
    tally = {(pair_id, *_cell(key)): (count,) for pair_id, fold in folds.items() for key, count in fold.tally.items()}
    years = {_year_cell(pair_id, key): sums for pair_id, fold in folds.items() for key, sums in sum_years(fold.tally).items()}
    prompts = {(pair_id, *key): counts for pair_id, fold in folds.items() for key, counts in fold.prompts.items()}
    besides = {(pair_id, *key): counts for pair_id, fold in folds.items() for key, counts in fold.besides.items()}
    _keep_cells(db, TallyRow, account.id, folds, tally)
    _keep_cells(db, TallyYearRow, account.id, folds, years)
    _keep_cells(db, PromptTallyRow, account.id, folds, prompts)
    _keep_cells(db, BesideTallyRow, account.id, folds, besides)
    _keep_memories(db, account, folds, parameters)


def add_folds(
    db: Session, learner: Learner, folds: Mapping[int, FoldedOn], stored: Mapping[int, Memory | None], *, parameters: Parameters
) -> None:
    """Bring the memory and the counts of some pairs of a learner forward by new answers, by pair; `stored` are the memories there are."""
    tally = [(pair_id, *_cell(key), by) for pair_id, fold in folds.items() for key, by in fold.tally.items()]
    years = [(*_year_cell(pair_id, key), *by) for pair_id, fold in folds.items() for key, by in sum_years(fold.tally).items()]
    prompts = [(pair_id, *key, *by) for pair_id, fold in folds.items() for key, by in fold.prompts.items()]
    besides = [(pair_id, *key, *by) for pair_id, fold in folds.items() for key, by in fold.besides.items()]
    _add_cells(db, TallyRow, learner.id, tally)
    _add_cells(db, TallyYearRow, learner.id, years)
    _add_cells(db, PromptTallyRow, learner.id, prompts)
    _add_cells(db, BesideTallyRow, learner.id, besides)
    memories = [
        {"account_id": learner.id, "pair_id": pair_id} | _remembered(learner, pair_id, fold.memory, fold.recalled, parameters)
        for pair_id, fold in sorted(folds.items())
        if fold.memory is not None and fold.memory != stored.get(pair_id)
    ]
    send(db, _bringing_forward(dialect_of(db)), memories)


def _add_cells(db: Session, model: type[Row], account_id: int, cells: Iterable[tuple[Any, ...]]) -> None:
    """Add to the counts of some cells, each told as the key after the learner and by how much every count is higher."""
    adding, names = _adding(model, dialect_of(db))
    send(db, adding, [dict(zip(names, (account_id, *cell), strict=True)) for cell in cells])


@cache
def _adding(model: type[Row], dialect: str) -> tuple[Insert, list[str]]:
    """Return the statement that adds to a table's counts, on either engine, and what it is given: the key, then the counts."""
    table, new = table_of(model), inserting(model, dialect)
    keys, counts = table.primary_key.columns.keys(), [column.name for column in table.columns if not column.primary_key]
    higher = {name: table.c[name] + new.excluded[name] for name in counts}
    return new.on_conflict_do_update(index_elements=keys, set_=higher), keys + counts


@cache
def _bringing_forward(dialect: str) -> Insert:
    """Return the statement that stores memories in place of those of the same pair, what they have recalled put behind what those had."""
    table, new = table_of(MemoryRow), inserting(MemoryRow, dialect)
    other: dict[str, Any] = {column.name: new.excluded[column.name] for column in table.columns if not column.primary_key}
    other["recalled"] = _one_behind_the_other(table.c.recalled, new.excluded.recalled, dialect)
    return new.on_conflict_do_update(index_elements=table.primary_key.columns.keys(), set_=other)


def _one_behind_the_other(list_before: ColumnElement[Any], more: ColumnElement[Any], dialect: str) -> ColumnElement[Any]:
    """Return the JSON list that begins with one and goes on with another, as the text that it would be had it been written whole.

    It is longer the longer she has drilled, so it is neither read nor written by us to be added to.
    """
    as_text = type_coerce if dialect == "sqlite" else cast  # SQLite keeps JSON as text, and would make a number of it
    one, other = as_text(list_before, Text), as_text(more, Text)
    # Written out, since `many.send` gives the statement nothing but the rows.
    none: ColumnElement[str] = literal_column("'[]'")
    first, second = (literal_column(place, Integer()) for place in ("1", "2"))
    both = func.substr(one, first, func.length(one) - first).concat(literal_column("', '")).concat(func.substr(other, second))
    return as_text(case((other == none, one), (one == none, other), else_=both), JSON)


def _cell(key: TallyKey) -> tuple[Any, ...]:
    told = (key.shown_form_id, key.said_form_id, key.week, key.fresh, key.prompted)
    return (*told, key.rendition.value, key.orientation, key.choices)


def _year_cell(pair_id: int, key: YearKey) -> tuple[int, int, int, int]:
    year, shown_form_id, said_form_id = key
    return year, pair_id, shown_form_id, said_form_id


def _keep_cells(db: Session, model: type[Row], account_id: int, pair_ids: Iterable[int], cells: Cells) -> None:
    """Bring the counts of some pairs to these; no session holds rows of these tables while it stores answers."""
    table = table_of(model)
    keys = [column.name for column in table.primary_key][1:]
    columns = keys + [column.name for column in table.columns if not column.primary_key]
    hers = and_(table.c.account_id == account_id, table.c.pair_id.in_(list(pair_ids)))
    stored = {
        tuple(row[: len(keys)]): tuple(row[len(keys) :]) for row in db.execute(select(*(table.c[name] for name in columns)).where(hers))
    }
    if new := [key + cell for key, cell in cells.items() if key not in stored]:
        db.execute(insert(table), [dict(zip(columns, one, strict=True)) | {"account_id": account_id} for one in new])
    named = [_GIVEN + name for name in columns]
    this = and_(table.c.account_id == account_id, *(table.c[name] == bindparam(_GIVEN + name) for name in keys))
    if other := [key + cell for key, cell in cells.items() if stored.get(key, cell) != cell]:
        counts: dict[str, Any] = {name: bindparam(_GIVEN + name) for name in columns[len(keys) :]}
        db.connection().execute(update(table).where(this).values(counts), [dict(zip(named, one, strict=True)) for one in other])
    if gone := [dict(zip(named, key, strict=False)) for key in stored if key not in cells]:
        db.connection().execute(delete(table).where(this), gone)


def _keep_memories(db: Session, account: AccountRow, folds: Mapping[int, PairFold], parameters: Parameters) -> None:
    hers = select(MemoryRow).where(MemoryRow.account_id == account.id, MemoryRow.pair_id.in_(list(folds)))
    stored = {row.pair_id: row for row in db.scalars(hers)}
    for pair_id, fold in sorted(folds.items()):
        row = stored.get(pair_id)
        if fold.memory is None:
            if row is not None:
                db.delete(row)
            continue
        if row is None:
            row = MemoryRow(account_id=account.id, pair_id=pair_id)
            db.add(row)
        for name, value in _remembered(account, pair_id, fold.memory, fold.recalled, parameters).items():
            setattr(row, name, value)
    db.flush()


def _remembered(
    account: AccountRow | Learner, pair_id: int, memory: Memory, recalled: Iterable[tuple[float, bool]], parameters: Parameters
) -> dict[str, Any]:
    """Return what the row of a memory holds beside its key."""
    due = due_day(memory, target_recall=account.target_recall, account_id=account.id, pair_id=pair_id, parameters=parameters)
    return {
        "stability_days": memory.stability_days,
        "difficulty": memory.difficulty,
        "last_day": memory.last_day,
        "rounds": memory.rounds,
        "held_running": memory.held_running,
        "last_outcome": memory.last.value,
        "due_day": due,
        "recalled": [[chance, int(held)] for chance, held in recalled],
    }
