"""The group's progress: who is how far with each pair set that it is given, naming those who may be named and counting the rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from sqlalchemy.orm import Session

from drillhall.practice.assigning import Assignment, list_assignments
from drillhall.practice.readiness import WORDS, Readiness, readiness_of_all
from drillhall.practice.tables import Cell, Column, Scope, Table

NAME: Final = "progress"
TITLE: Final = "The group's progress"
AUDIENCE: Final = "lead a group"
ABOUT: Final = "How far each is with what the group is given, and how many pairs each will likely hold on the day."
COLUMNS: Final = (
    Column("set", "Pair set"),
    Column("day", "For"),
    Column("who", "Who"),
    Column("people", "People"),
    Column("how_far", "How far"),
    *(Column(word, word.capitalize()) for word in WORDS),
)
NOTES: Final = (
    "Ready is whoever will likely hold nine pairs in ten on the day; on the way, whoever was tried on half of them.",
    "By name stand those alone who let whoever leads see it, or the class; of fewer than five others nothing is told in sum.",
)


def build(db: Session, scope: Scope) -> Table:
    """Return one row for each who may be named, and one for each count of the others."""
    given = list_assignments(db, scope.group_id)
    found = readiness_of_all(db, scope.group_id, scope.group_kind, given, today=scope.today)
    rows = [row for assignment, readiness in zip(given, found, strict=True) for row in _rows(assignment, readiness)]
    return Table(NAME, TITLE, ABOUT, COLUMNS, tuple(rows), scope.today, NOTES)


def _rows(assignment: Assignment, found: Readiness) -> Iterator[tuple[Cell, ...]]:
    for one in found.named:
        yield (assignment.title, found.day, one.name, 1, one.progress.value, *(one.words.get(word, 0) for word in WORDS))
    nothing = (None,) * len(WORDS)
    if found.rest is None and found.others:
        yield (assignment.title, found.day, "not named", found.others, None, *nothing)
    for progress, count in (found.rest or {}).items():
        yield (assignment.title, found.day, "not named", count, progress.value, *nothing)
