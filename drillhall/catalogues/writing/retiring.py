"""Retires rows, and gives rows new keys where two may not share one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session


def rename(db: Session, rows: Mapping[int, Any], names: Mapping[int, str], *, column: str = "key") -> None:
    """Give rows the names they should have, in two steps, since two may change places and no two may share one.

    `rows` and `names` go by the same ids. A row without a new name whose own one is taken gets a name that no file can hold.
    """
    moving = {id_: row for id_, row in rows.items() if id_ in names and getattr(row, column) != names[id_]}
    wanted = set(names.values())
    aside = {id_: row for id_, row in rows.items() if id_ not in names and getattr(row, column) in wanted}
    for id_, row in {**moving, **aside}.items():
        setattr(row, column, f"~{id_}")
    db.flush()
    for id_, row in moving.items():
        setattr(row, column, names[id_])
    db.flush()


def retire(rows: Iterable[Any], *, at: datetime) -> None:
    """Retire rows that are not retired already."""
    for row in rows:
        row.retired_at = row.retired_at or at
