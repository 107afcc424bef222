"""What the audience of a group's open questions mixes up: over all of them, and lately."""

from __future__ import annotations

from typing import Final

from sqlalchemy.orm import Session

from drillhall.practice.open_questions.accounting import Mixup, the_account
from drillhall.practice.tables import Cell, Column, Scope, Table
from drillhall.words import joined, say

NAME: Final = "audience"
TITLE: Final = say("What your audience mixes up")
AUDIENCE: Final = "lead a group"
ABOUT: Final = say("How often the form shown was called the other, over all open questions of the group; the likeliest mix-up first.")
COLUMNS: Final = (
    Column("shown_form", say("Shown")),
    Column("said_form", say("Called")),
    Column("times", say("Times")),
    Column("shown", say("Of")),
    Column("share_low", say("Likely from")),
    Column("share_high", say("Likely to")),
    Column("times_28_days", say("Times in 28 days")),
    Column("shown_28_days", say("Of in 28 days")),
)
NOTES: Final = (
    say("Each browser is counted once a day, where it keeps cookies; who answered is not known to anybody."),
    say("Whoever answers has chosen to: it tells of this audience, not of people at large."),
    say("The likely range is Wilson's at 95 in a hundred, as shares of 1."),
)


def build(db: Session, scope: Scope) -> Table:
    """Return one row a form shown and the other that it was called, asked no more included."""
    account = the_account(db, scope.group_id, at=scope.at)
    since = (say("{n} answers since {day}.", n=account.answers, day=account.first_day),) if account.first_day else ()
    return Table(NAME, TITLE, ABOUT, COLUMNS, tuple(_row(one) for one in account.mixups), scope.today, (*since, *NOTES))


def _row(one: Mixup) -> tuple[Cell, ...]:
    shown, said = (joined(", ", filter(None, (form.name, form.wears))) for form in (one.shown_form, one.said))
    shares = round(one.likely.low, 3), round(one.likely.high, 3)
    return (shown, said, one.times, one.shown, *shares, one.times_lately, one.shown_lately)
