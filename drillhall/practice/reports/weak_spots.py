"""The group's weak spots: every form and what it is called instead, with counts, likely range and estimate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.practice.tables import Cell, Column, Scope, Table
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.naming import Finer
from drillhall.practice.weak_spots.prompting import FAILS_SHORT, Behind
from drillhall.practice.weak_spots.report import the_weak_spots
from drillhall.practice.weak_spots.seeing import head_role
from drillhall.practice.weak_spots.spots import Spot
from drillhall.words import joined, say

NAME: Final = "weak-spots"
TITLE: Final = say("Weak spots")
AUDIENCE: Final = "lead a group"
ABOUT: Final = say(
    "How often a form shown was missed in a pair; what is mixed up most comes first, what was shown too seldom to be ranked last."
)
COLUMNS: Final = (
    Column("shown_form", say("Shown")),
    Column("said_form", say("Instead")),
    Column("missed", say("Missed")),
    Column("called", say("Called so")),
    Column("shown", say("Of")),
    Column("fresh", say("Of them fresh")),
    Column("learners", say("By learners")),
    Column("share_low", say("Likely from")),
    Column("share_high", say("Likely to")),
    Column("estimate", say("Estimate")),
    Column("too_few", say("Too few")),
    Column("trait", say("Trait behind")),
    Column("fails", say("What fails")),
)
NOTES: Final = (
    say("Counted are answers on pairs that the group is given, each given while she who gave it was in the group."),
    say("Of those who are not seen by name, a form of a pair is told by four weeks that are over, from five of them on, all together."),
    say("Missed: called the other form, or neither. The likely range is Wilson's at 95 in a hundred, as shares of 1."),
    say("Too few: shown under 20 times, so not ranked."),
)


def build(db: Session, scope: Scope) -> Table:
    """Return one row a form of a pair that was missed."""
    told = the_weak_spots(db, scope.group_id, head_role(scope.group_kind), Chosen(), today=scope.today)
    rows = tuple(_row(spot, told.behind.get(spot.direction.pair_id), told.finer) for spot in told.spots)
    return Table(NAME, TITLE, ABOUT, COLUMNS, rows, scope.today, NOTES)


def _row(spot: Spot, behind: Behind | None, finer: Mapping[int, Finer]) -> tuple[Cell, ...]:
    one = spot.direction
    counts = (one.missed, one.called, one.shown, one.fresh, one.by, round(one.likely.low, 3), round(one.likely.high, 3))
    why = (behind.trait or None, FAILS_SHORT.get(behind.fails, say("too few to say"))) if behind else (None, None)
    few = say("yes") if one.is_few else say("no")
    return (_named(spot.shown, finer), _named(spot.said, finer), *counts, round(one.rate, 3), few, *why)


def _named(form: Form, finer: Mapping[int, Finer]) -> str:
    return joined(", ", filter(None, (form.name, form.wears, finer.get(form.id, Finer()).scientific_name)))
