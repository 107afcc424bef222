"""The group's progress: who is how far with each pair set that it is given, naming those who may be named and counting the rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from sqlalchemy.orm import Session

from drillhall.practice.assigning import Assignment, list_assignments
from drillhall.practice.readiness import WORDS, WORDS_TOLD, Readiness, readiness_of_all
from drillhall.practice.tables import Cell, Column, Scope, Table
from drillhall.words import say

NAME: Final = "progress"
TITLE: Final = say("The group's progress")
AUDIENCE: Final = "lead a group"
ABOUT: Final = say("How far each is with what the group is given, and how many pairs each will likely hold on the day.")
COLUMNS: Final = (
    Column("set", say("Pair set")),
    Column("day", say("For")),
    Column("who", say("Who")),
    Column("people", say("People")),
    Column("how_far", say("How far")),
    *(Column(word, words.capitalize()) for word, words in WORDS_TOLD.items()),
)
NOTES: Final = (
    say("Ready is whoever will likely hold nine pairs in ten on the day; on the way, whoever was tried on half of them."),
    say("By name stand those alone who let whoever leads see it, or the class; of fewer than five others nothing is told in sum."),
)


def build(db: Session, scope: Scope) -> Table:
    """Return one row for each who may be named, and one for each count of the others."""
    given = list_assignments(db, scope.group_id)
    found = readiness_of_all(db, scope.group_id, scope.group_kind, given, today=scope.today)
    rows = [row for assignment, readiness in zip(given, found, strict=True) for row in _rows(assignment, readiness)]
    return Table(NAME, TITLE, ABOUT, COLUMNS, tuple(rows), scope.today, NOTES)


def _rows(assignment: Assignment, found: Readiness) -> Iterator[tuple[Cell, ...]]:
    for one in found.named:
        yield (assignment.title, found.day, one.name, 1, one.progress.words, *(one.words.get(word, 0) for word in WORDS))
    nothing = (None,) * len(WORDS)
    if found.rest is None and found.others:
        yield (assignment.title, found.day, say("not named"), found.others, None, *nothing)
    for progress, count in (found.rest or {}).items():
        yield (assignment.title, found.day, say("not named"), count, progress.words, *nothing)
