"""What a report is made of and an export writes: a table with its words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

Cell = str | int | float | date | None
"""What a cell holds; None where nothing is told."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: `key` names it in files and never changes, `label` heads it on a page."""

    key: str
    label: str


@dataclass(frozen=True, slots=True)
class Table:
    """A report as it was on a day: `about` says what to see in it, `notes` what to mind; each row has a cell for each column."""

    name: str
    title: str
    about: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    made_on: date
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scope:
    """Of what a report tells: a group, and when and on which day of hers somebody asks."""

    group_id: int
    group_kind: str
    today: date
    at: datetime
