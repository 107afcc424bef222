"""The readiness of each pair set that a group is given: of how many each pair will likely be held on the day."""

from __future__ import annotations

from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.practice.assigning import list_assignments
from drillhall.practice.readiness import WORDS, WORDS_TOLD, readiness_of_all
from drillhall.practice.tables import Cell, Column, Scope, Table
from drillhall.words import joined, say

NAME: Final = "set-readiness"
TITLE: Final = say("Readiness, pair by pair")
AUDIENCE: Final = "lead a group"
ABOUT: Final = say("How many of the group will likely hold each pair on the day, if it is met no more until then.")
COLUMNS: Final = (
    Column("set", say("Pair set")),
    Column("day", say("For")),
    Column("first", say("One form")),
    Column("second", say("The other")),
    *(Column(word, words.capitalize()) for word, words in WORDS_TOLD.items()),
)
NOTES: Final = (say("It counts those who may be named and, from five on, the others; where nobody is counted, a set has no row."),)


def build(db: Session, scope: Scope) -> Table:
    """Return one row a pair of each set, the pairs in the order of the set."""
    rows: list[tuple[Cell, ...]] = []
    given = list_assignments(db, scope.group_id)
    readiness = readiness_of_all(db, scope.group_id, scope.group_kind, given, today=scope.today)
    for assignment, found in zip(given, readiness, strict=True):
        for one in found.pairs if found.middle is not None else ():
            counts = (one.words.get(word, 0) for word in WORDS)
            rows.append((assignment.title, found.day, _named(one.pair.first), _named(one.pair.second), *counts))
    return Table(NAME, TITLE, ABOUT, COLUMNS, tuple(rows), scope.today, NOTES)


def _named(form: Form) -> str:
    return joined(", ", filter(None, (form.name, form.wears)))
