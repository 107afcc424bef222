"""The group's weak spots: every form and what it is called instead, with counts, likely range and estimate."""

from __future__ import annotations

from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.practice.tables import Cell, Column, Scope, Table
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.prompting import Behind
from drillhall.practice.weak_spots.report import the_weak_spots
from drillhall.practice.weak_spots.seeing import head_role
from drillhall.practice.weak_spots.spots import Spot

NAME: Final = "weak-spots"
TITLE: Final = "Weak spots"
AUDIENCE: Final = "lead a group"
ABOUT: Final = (
    "How often a form shown was missed in a pair; what is mixed up most comes first, what was shown too seldom to be ranked last."
)
COLUMNS: Final = (
    Column("shown_form", "Shown"),
    Column("said_form", "Instead"),
    Column("missed", "Missed"),
    Column("called", "Called so"),
    Column("shown", "Of"),
    Column("fresh", "Of them fresh"),
    Column("learners", "By learners"),
    Column("share_low", "Likely from"),
    Column("share_high", "Likely to"),
    Column("estimate", "Estimate"),
    Column("too_few", "Too few"),
    Column("trait", "Trait behind"),
    Column("fails", "What fails"),
)
NOTES: Final = (
    "Counted are answers on pairs that the group is given, each given while she who gave it was in the group.",
    "Of those who are not seen by name, a form of a pair is told by four weeks that are over, from five of them on, all together.",
    "Missed: called the other form, or neither. The likely range is Wilson's at 95 in a hundred, as shares of 1.",
    "Too few: shown under 20 times, so not ranked.",
)


def build(db: Session, scope: Scope) -> Table:
    """Return one row a form of a pair that was missed."""
    told = the_weak_spots(db, scope.group_id, head_role(scope.group_kind), Chosen(), today=scope.today)
    rows = tuple(_row(spot, told.behind.get(spot.direction.pair_id)) for spot in told.spots)
    return Table(NAME, TITLE, ABOUT, COLUMNS, rows, scope.today, NOTES)


def _row(spot: Spot, behind: Behind | None) -> tuple[Cell, ...]:
    one = spot.direction
    counts = (one.missed, one.called, one.shown, one.fresh, one.by, round(one.likely.low, 3), round(one.likely.high, 3))
    why = (behind.trait or None, behind.fails.value) if behind else (None, None)
    return (_named(spot.shown), _named(spot.said), *counts, round(one.rate, 3), "yes" if one.is_few else "no", *why)


def _named(form: Form) -> str:
    return f"{form.name}, {form.wears}" if form.wears else form.name
